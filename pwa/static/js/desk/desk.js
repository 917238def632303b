// The desk: what a shop does with a job after the visit, on a wide screen and on a phone.
import { addTexts } from "../words.js";
import en from "./words-en.js";

const texts = addTexts(en, { es: () => import("./words-es.js") });

/** ready waits for the desk's look and texts, so that nothing is drawn without them. */
export const ready = Promise.all([texts, new Promise((done) => {
  const look = Object.assign(document.createElement("link"), { rel: "stylesheet", href: new URL("../../desk.css", import.meta.url).href });
  look.onload = look.onerror = () => done();
  document.head.append(look);
})]);

export { Board } from "./board.js";
export { Keys } from "./keys.js";
export { Privacy } from "./privacy.js";
export { Links } from "./links.js";
export { CalendarAddress } from "./calendar.js";
export { Import, FromRegister } from "./import.js";
export { ClaimForm } from "./claim-form.js";
export { ClaimPart, Clashes } from "./claim-part.js";
export { Timeline } from "./timeline.js";
export { Compare } from "./compare.js";
export { Figures } from "./figures.js";
export { Setup } from "./setup.js";
export { SetupCard } from "./setup-state.js";
export { Dispute } from "../dispute/dispute.js";
