// The secret address at which a calendar program finds the open deadlines.
import { html, useState } from "../view.js";
import { Do, Notice, tell } from "../parts.js";
import { useLoaded } from "../events.js";
import * as api from "../api.js";
import { t, moment } from "../words.js";

export function CalendarAddress() {
  const [turn, again] = useState(0), [full, choose] = useState(false), [made, show] = useState("");
  const { value } = useLoaded(() => api.calendarAddress(), [turn]);
  if (!value) return null;
  const make = async () => { show((await api.makeCalendarAddress(full)).url); again(turn + 1); };
  const drop = async () => { await api.dropCalendarAddress(); show(""); again(turn + 1); tell(t("calendar.dropped")); };
  const copy = async () => { await navigator.clipboard.writeText(made); tell(t("links.copied")); };
  return html`<section class="sheet" aria-labelledby="h-calendar"><h2 id="h-calendar">${t("calendar.title")}</h2><p>${t("calendar.what")}</p>
    ${made && html`<${Notice} kind="good"><p>${t("calendar.made")}</p><p class="num small" data-calendar>${made}</p>${navigator.clipboard && html`<div class="btn-row"><${Do} act=${copy}>${t("links.copy")}<//></div>`}<//>`}
    ${value.there && html`<p>${t(value.full ? "calendar.is-full" : "calendar.is", { when: moment(value.made) })} ${value.seen ? t("calendar.seen", { when: moment(value.seen) }) : t("calendar.never")}</p>`}
    <label class="tick"><input type="checkbox" checked=${full} onChange=${(e) => choose(e.target.checked)} /><span>${t("calendar.full")}</span></label>
    <div class="btn-row"><${Do} act=${make} icon="clock">${t(value.there ? "calendar.again" : "calendar.make")}<//>${value.there && html`<${Do} act=${drop} kind="danger">${t("calendar.drop")}<//>`}</div></section>`;
}
