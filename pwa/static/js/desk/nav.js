// The way between the desk's screens.
import { html } from "../view.js";
import { Link } from "../route.js";
import { Icon } from "../icons.js";
import { isOwner } from "../me.js";
import { t } from "../words.js";

/** DeskNav is the row of links on each of the desk's screens. */
export function DeskNav({ at }) {
  const link = (to, icon, key) => html`<li><${Link} to=${to} class="btn quiet" aria-current=${at === to ? "page" : undefined}><${Icon} name=${icon} />${t(key)}<//></li>`;
  return html`<nav class="desk-nav" aria-label=${t("desk.nav")}><ul>
    ${link("/board", "list", "board.title")}${link("/", "search", "jobs.title")}
    ${link("/figures", "meter", "figures.title")}${link("/privacy", "people", "privacy.title")}${isOwner() && link("/setup", "door", "setup.title")}${link("/keys", "pen", "keys.title")}</ul></nav>`;
}
