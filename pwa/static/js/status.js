// The line at the top that always says where the work is: all sent, so much waiting, or what is wrong and what to do.
import { html, useEffect, useState } from "./view.js";
import { Icon } from "./icons.js";
import { Link } from "./route.js";
import { useLoaded, useNews, hear } from "./events.js";
import { state } from "./outbox.js";
import { signedOut, who } from "./me.js";
import { t, size } from "./words.js";

export function StatusLine() {
  useNews("session");
  const [tick, set] = useState(0);
  useEffect(() => {
    let timer = null; // four times a second at most, and never without the last one
    return hear("progress", () => { timer ??= setTimeout(() => { timer = null; set((n) => n + 1); }, 250); });
  }, []);
  const { value: s } = useLoaded(state, [tick], "outbox", "session");
  if (!who()) return null;
  if (!s) return html`<div class="line"></div>`; // its room is kept: nothing below moves when it is filled
  const line = (kind, icon, text, more) => html`<${Link} to="/outbox" class=${`line ${kind}`}><span class="line-in"><${Icon} name=${icon} /><span>${text}</span>${more}</span><//>`;
  const waits = s.count ? t("outbox.waiting", { n: s.count, size: size(s.bytes) }) : "";
  if (!isSecureContext) return line("wrong", "caution", t("status.insecure"));
  if (s.refused) return line("wrong", "caution", `${t("status.refused", { n: s.refused })} ${waits}`);
  if (signedOut()) return line("wrong", "caution", s.count ? t("status.sign-in-to-send", { waits }) : t("status.sign-in"));
  if (s.count && s.trouble?.kind === "no-answer") return line("", "clock", t("status.no-answer", { waits }));
  if (s.count && s.trouble) return line("wrong", "caution", t("status.trouble", { waits, says: s.trouble.says }));
  if (s.count) return line("busy", "up", t("status.sending", { waits }), s.bytes > 0 && html`<progress max=${s.bytes} value=${s.done} aria-label=${t("status.progress")}></progress>`);
  return line("", "met", t("status.all-sent"));
}
