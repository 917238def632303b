// The desk's texts and look. All that the desk shows waits for them.
import { addTexts } from "../words.js";
import en from "./words-en.js";

const texts = addTexts(en, { es: () => import("./words-es.js") });

/** ready waits for the desk's look and texts, so that nothing is drawn without them. */
export const ready = Promise.all([texts, new Promise((done) => {
  const look = Object.assign(document.createElement("link"), { rel: "stylesheet", href: new URL("../../desk.css", import.meta.url).href });
  look.onload = look.onerror = () => done();
  document.head.append(look);
})]);
