// The app's own icons: 24-unit line drawings. They are never the only sign of anything.
import { html } from "./view.js";

const paths = {
  back: "M15 4 7 12l8 8",
  met: "M4 12.5 9.5 18 20 6.5",
  gap: "M12 3v11M12 18.5v1.5",
  doubt: "M8 8.5a4 4 0 1 1 6 3.4c-1.4.9-2 1.6-2 3.1M12 19v1",
  waived: "M4 12h16M14 6l6 6-6 6",
  "not-needed": "M5 12h14",
  camera: "M4 8h3l1.5-2.5h7L17 8h3v11H4zM12 16.5a3.5 3.5 0 1 0 0-7 3.5 3.5 0 0 0 0 7z",
  meter: "M4 17a8 8 0 1 1 16 0zM12 17l4-6",
  note: "M6 4h9l4 4v12H6zM9 12h7M9 16h7M9 8h3",
  part: "M12 8.5a3.5 3.5 0 1 0 0 7 3.5 3.5 0 0 0 0-7zM12 2.5v3.5M12 18v3.5M2.5 12H6M18 12h3.5M5.3 5.3l2.5 2.5M16.2 16.2l2.5 2.5M18.7 5.3l-2.5 2.5M7.8 16.2l-2.5 2.5",
  damage: "M13 3 7 13h5l-2 8 7-11h-5z",
  pen: "M4 20l1-4L16 5l3 3L8 19zM4 20h16",
  list: "M4 6h2M4 12h2M4 18h2M9 6h11M9 12h11M9 18h11",
  plus: "M12 4v16M4 12h16",
  search: "M10.5 17a6.5 6.5 0 1 0 0-13 6.5 6.5 0 0 0 0 13zM15.5 15.5 21 21",
  phone: "M7 3h10v18H7zM11 18h2",
  box: "M4 8l8-4 8 4v9l-8 4-8-4zM4 8l8 4 8-4M12 12v9",
  down: "M12 4v11M7 10.5l5 5 5-5M4 20h16",
  up: "M12 20V8M7 12.5l5-5 5 5M4 4h16",
  door: "M6 3h9v18H6zM12 12h.5M15 12h6M18.5 9.5 21 12l-2.5 2.5",
  caution: "M12 3 2.5 20h19zM12 9.5v5M12 17.2v.6",
  info: "M12 21a9 9 0 1 0 0-18 9 9 0 0 0 0 18zM12 11v6M12 7v1",
  clock: "M12 21a9 9 0 1 0 0-18 9 9 0 0 0 0 18zM12 7v5.5l3.5 2",
  document: "M6 3h8l4 4v14H6zM14 3v4h4",
  film: "M4 6h16v12H4zM10 9.5v5l4.5-2.5z",
  sound: "M4 9.5h3.5L12 6v12l-4.5-3.5H4zM15.5 9a4 4 0 0 1 0 6M18 6.5a8 8 0 0 1 0 11",
  mic: "M12 3a3 3 0 0 1 3 3v5a3 3 0 0 1-6 0V6a3 3 0 0 1 3-3zM6 11a6 6 0 0 0 12 0M12 17v4",
  stop: "M6 6h12v12H6z",
  close: "M5 5l14 14M19 5 5 19",
  next: "M9 4l8 8-8 8",
  people: "M9 11a3.5 3.5 0 1 0 0-7 3.5 3.5 0 0 0 0 7zM2.5 20c0-4 3-6 6.5-6s6.500 2 6.500 6M16 4.500a3.500 3.500 0 0 1 0 6.500M17.500 14.300c2.400.7 4 2.600 4 5.700",
  again: "M19 12a7 7 0 1 1-2.500-5.400M19 3v5h-5",
};

/** Icon draws one; it is hidden from screen readers, which get the words beside it. */
export const Icon = ({ name }) => html`<svg viewBox="0 0 24 24" fill="none" stroke="currentColor" stroke-width=${name === "gap" ? 3.2 : 2.2}
  stroke-linecap="round" stroke-linejoin="round" aria-hidden="true" focusable="false"><path d=${paths[name] || paths.info} /></svg>`;
