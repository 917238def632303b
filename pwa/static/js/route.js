// Addresses of screens. Every screen has one, so that back, reload and links work.
import { say } from "./events.js";
import { html } from "./view.js";

/** here splits the present address: {path: ["job", id, "visit"], query: URLSearchParams}. */
export function here() {
  return { path: location.pathname.split("/").filter(Boolean).map(decodeURIComponent), query: new URLSearchParams(location.search) };
}

/** go opens a screen; replace leaves no trace of the present one in the history. */
export function go(to, { replace = false } = {}) {
  if (replace) history.replaceState(null, "", to);
  else history.pushState({ inside: true }, "", to);
  say("route");
}

/** back goes to the screen before, or to fallback when the app was opened here. */
export function back(fallback) {
  if (history.state && history.state.inside) history.back();
  else go(fallback, { replace: true });
}

/** Link is an anchor that changes screens without loading the page again. */
export function Link({ to, children, ...rest }) {
  const click = (e) => {
    if (e.metaKey || e.ctrlKey || e.shiftKey || e.button) return;
    e.preventDefault();
    go(to);
  };
  return html`<a href=${to} onClick=${click} ...${rest}>${children}</a>`;
}

addEventListener("popstate", () => say("route"));
