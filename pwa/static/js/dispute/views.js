// Simple drawn views of our own, to point at a place: generic shapes, no maker's. Each region carries the area of the vocabulary that
// it stands for: [area, x, y, width, height], in thousandths; lines only make the drawing easier to read.
const rect = (x, y, w, h, r = 8) => `M${x + r} ${y}h${w - 2 * r}a${r} ${r} 0 0 1 ${r} ${r}v${h - 2 * r}a${r} ${r} 0 0 1 -${r} ${r}h-${w - 2 * r}a${r} ${r} 0 0 1 -${r} -${r}v-${h - 2 * r}a${r} ${r} 0 0 1 ${r} -${r}z`;
const ring = (cx, cy, r) => `M${cx - r} ${cy}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 -${2 * r} 0z`;

const around = [["cabinets-beside", 20, 120, 150, 760], ["wall", 20, 20, 960, 60], ["floor", 20, 930, 960, 60]];
const sides = [["left-side", 190, 120, 60, 760], ["right-side", 750, 120, 60, 760]];

export const views = [
  { id: "fridge-front", units: ["refrigerator", "freezer", "ice-maker", "wine-cooler"], lines: rect(250, 100, 500, 790, 24) + "M250 380h500M690 150v190M690 430v260",
    regions: [...around, ...sides, ["top", 260, 85, 480, 30], ["door-outside", 260, 120, 400, 750], ["handle", 660, 140, 70, 560], ["kick-plate", 260, 880, 480, 40]] },
  { id: "fridge-open", units: [], lines: rect(230, 60, 500, 860, 20) + rect(750, 60, 200, 860, 16) + "M230 380h500M290 600h380M290 740h380",
    regions: [["gasket", 232, 62, 30, 856], ["freezer-liner-left-wall", 264, 80, 56, 210], ["freezer-liner-back-wall", 320, 80, 350, 210], ["freezer-liner-right-wall", 670, 80, 56, 210], ["freezer-liner-floor", 264, 318, 462, 50],
      ["evaporator-cover", 400, 100, 190, 130], ["drain-trough", 400, 290, 190, 28], ["liner-left-wall", 264, 394, 56, 420], ["liner-back-wall", 320, 394, 350, 190], ["liner-right-wall", 670, 394, 56, 420],
      ["shelf", 320, 590, 350, 40], ["drawer", 320, 650, 350, 160], ["liner-floor", 264, 820, 462, 90], ["door-inside", 752, 62, 196, 856]] },
  { id: "washer", units: ["washer", "dryer", "washer-dryer"], lines: rect(220, 180, 560, 700, 20) + ring(500, 570, 210) + ring(500, 570, 165) + "M220 310h560" + ring(680, 245, 34),
    regions: [...around, ["left-side", 190, 180, 30, 700], ["right-side", 780, 180, 30, 700], ["top", 230, 150, 540, 30], ["control-panel", 230, 190, 540, 115], ["front", 230, 320, 540, 490], ["door-glass", 335, 405, 330, 330], ["gasket", 420, 735, 160, 42],
      ["drum", 420, 490, 160, 160], ["kick-plate", 230, 820, 540, 60], ["water-line", 830, 250, 120, 120], ["vent", 830, 420, 120, 120], ["power-cord", 830, 590, 120, 120]] },
  { id: "range", units: ["range", "oven", "cooktop", "range-electric", "range-gas", "microwave"], lines: rect(220, 220, 560, 660, 16) + "M220 300h560M220 400h560M220 720h560M300 455h400" + ring(350, 190, 55) + ring(640, 190, 55) + ring(500, 180, 40),
    regions: [...around, ...[["left-side", 190, 230, 30, 650], ["right-side", 780, 230, 30, 650]], ["worktop", 20, 240, 165, 50], ["cooktop", 230, 130, 540, 160], ["control-panel", 230, 305, 540, 90], ["door-outside", 230, 405, 540, 310], ["handle", 290, 430, 420, 50],
      ["door-glass", 310, 510, 380, 170], ["oven-cavity", 400, 545, 200, 100], ["drawer", 230, 725, 540, 110], ["kick-plate", 230, 840, 540, 45], ["gas-line", 830, 500, 120, 120], ["power-cord", 830, 660, 120, 120]] },
  { id: "dishwasher", units: ["dishwasher"], lines: rect(230, 220, 540, 660, 10) + "M230 320h540M230 800h540M320 365h360M20 210h960M20 250h210M770 250h210",
    regions: [["wall", 20, 20, 960, 120], ["worktop", 20, 160, 960, 55], ["cabinets-beside", 20, 260, 200, 620], ["left-side", 222, 260, 20, 620], ["right-side", 758, 260, 20, 620], ["control-panel", 240, 230, 520, 85], ["door-outside", 240, 325, 520, 470], ["handle", 310, 340, 380, 50],
      ["tub", 330, 430, 340, 150], ["rack", 330, 600, 340, 110], ["kick-plate", 240, 805, 520, 75], ["water-line", 800, 500, 160, 120], ["floor", 20, 930, 960, 60]] },
  { id: "room", units: [], lines: "M120 60h760v620H120zM120 680L20 960M880 680l100 280M20 960h960" + rect(420, 300, 180, 400, 8) + rect(170, 360, 230, 330, 6) + rect(630, 360, 220, 330, 6),
    regions: [["wall", 130, 70, 740, 210], ["cabinets-beside", 175, 365, 220, 320], ["worktop", 170, 330, 230, 36], ["front", 425, 305, 170, 390], ["top", 425, 280, 170, 25], ["vent", 640, 120, 140, 100], ["power-cord", 640, 480, 90, 90], ["water-line", 740, 480, 90, 90], ["floor", 200, 710, 600, 200], ["way-in", 30, 720, 160, 220]] },
];

/** viewFor is the view that suits a kind of unit. */
export const viewFor = (unit) => (views.find((v) => v.units.includes(unit)) || views.find((v) => v.id === "room")).id;

const size = ([, , , w, h]) => w * h;
/** regionAt is the smallest region of a view that a place lies in. */
export const regionAt = (view, x, y) => (views.find((v) => v.id === view)?.regions || []).filter(([, a, b, w, h]) => x >= a && x <= a + w && y >= b && y <= b + h).sort((p, q) => size(p) - size(q))[0]?.[0];
/** middleOf is the middle of an area on a view, or undefined. */
export function middleOf(view, area) {
  const r = views.find((v) => v.id === view)?.regions.find(([a]) => a === area);
  return r && { x: Math.round(r[1] + r[3] / 2), y: Math.round(r[2] + r[4] / 2) };
}
