// The two signs that the app and the reviewer's page have in common; they need nothing of either.
import { html } from "./view.js";
import { Icon } from "./icons.js";

/** Mark is a short word with a sign, coloured by what it means. */
export const Mark = ({ kind = "", icon, children }) => html`<span class=${`mark ${kind}`}>${icon && html`<${Icon} name=${icon} />`}<span>${children}</span></span>`;

/** Notice is a sentence the person should see. kind: wrong, care, good, or none for information. */
export const Notice = ({ kind = "", icon, title, children }) => html`<div class=${`notice ${kind}`} role=${kind === "wrong" ? "alert" : "status"}>
  <${Icon} name=${icon || (kind === "good" ? "met" : kind ? "caution" : "info")} />
  <div>${title && html`<h2>${title}</h2>`}${children}</div></div>`;
