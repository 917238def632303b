// Marks over a photo: arrows, rings and words. They are a layer of their own, drawn when the photo is shown; the original never changes.
import { html, useRef } from "./view.js";

/** inside keeps a coordinate within the picture: whole thousandths of its width or height. */
export const inside = (v) => Math.max(0, Math.min(1000, Math.round(v)));

/**
 * useStroke follows one finger over a layer and gives the layer's handlers. done is told where it went down, where it was lifted, and how far
 * apart that is; shape is height : width of the picture.
 */
export function useStroke(shape, done) {
  const down = useRef(null);
  const point = (e) => {
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(e.currentTarget.getScreenCTM().inverse());
    return [inside(at.x), inside(at.y / shape)];
  };
  return {
    onPointerDown: (e) => { e.preventDefault(); e.currentTarget.setPointerCapture?.(e.pointerId); down.current = point(e); },
    onPointerUp: (e) => {
      if (!down.current) return;
      const from = down.current, to = point(e);
      down.current = null;
      done(from, to, Math.hypot(to[0] - from[0], to[1] - from[1]));
    },
    onPointerCancel: () => { down.current = null; },
  };
}

/** marksOn are the marks of a photo's entry, of all its layers. */
export const marksOn = (job, entry) => (job.markups || []).filter((m) => m.body.photo === entry).flatMap((m) => m.body.marks);

/** shapesOn are the shapes that cover a photo's entry, of all its layers. */
export const shapesOn = (job, entry) => (job.covers || []).filter((c) => c.body.photo === entry).flatMap((c) => c.body.shapes);

/** CoverLayer draws covers for a picture of this shape (height : width), as MarkLayer does with marks. */
export function CoverLayer({ shapes, shape, from, ...rest }) {
  const y = (v) => v * shape;
  return html`<svg class="marks-layer covers" viewBox=${`0 0 1000 ${1000 * shape}`} preserveAspectRatio="xMidYMid meet" aria-hidden="true" ...${rest}>
    ${shapes.map((s, i) => (s.shape === "ellipse" ? html`<ellipse key=${i} cx=${(s.x1 + s.x2) / 2} cy=${y((s.y1 + s.y2) / 2)} rx=${(s.x2 - s.x1) / 2} ry=${y((s.y2 - s.y1) / 2)} />`
      : html`<rect key=${i} x=${s.x1} y=${y(s.y1)} width=${s.x2 - s.x1} height=${y(s.y2 - s.y1)} />`))}
    ${from && html`<circle class="first" cx=${from[0]} cy=${y(from[1])} r="14" />`}</svg>`;
}

/** MarkLayer draws marks for a picture of this shape (height : width), in a box that shows the picture whole and in the middle. */
export function MarkLayer({ marks, shape, ...rest }) {
  const y = (v) => v * shape;
  const both = (draw) => html`<g class="halo">${draw}</g><g class="mark-line">${draw}</g>`;
  return html`<svg class="marks-layer" viewBox=${`0 0 1000 ${1000 * shape}`} preserveAspectRatio="xMidYMid meet" aria-hidden="true" ...${rest}>${marks.map((m, i) => html`<g key=${i}>
    ${m.shape === "arrow" && both(html`<path d=${arrow(m.x1, y(m.y1), m.x2 ?? 0, y(m.y2 ?? 0))} />`)}
    ${m.shape === "ring" && both(html`<circle cx=${m.x1} cy=${y(m.y1)} r="80" />`)}
    ${m.text && html`<text x=${Math.min(m.x1, 960)} y=${Math.max(40, y(m.y1) + (m.shape === "ring" ? 125 : 15))} text-anchor=${m.x1 > 600 ? "end" : "start"}>${m.text}</text>`}</g>`)}</svg>`;
}

function arrow(x1, y1, x2, y2) {
  const a = Math.atan2(y1 - y2, x1 - x2), side = (d) => `${x2 + 55 * Math.cos(a + d)} ${y2 + 55 * Math.sin(a + d)}`;
  return `M${x1} ${y1}L${x2} ${y2}M${side(0.45)}L${x2} ${y2}L${side(-0.45)}`;
}
