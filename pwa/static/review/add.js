// The other side's own words and pictures, where the link takes some. They stand in the shop's journal as theirs.
import { html, useState } from "../js/view.js";
import { t, size } from "../js/words.js";
import { Do, Notice } from "./parts.js";
import { canHash, sha256 } from "./check.js";

const most = 20 * 2 ** 20;

export function Add({ link, opened, onSent }) {
  const [form, fill] = useState({ name: "", words: "", files: [] });
  const [error, fail] = useState(""), [sent, done] = useState(0), [way, set] = useState("");
  if (!opened.add) return null;
  const send = async () => {
    fail("");
    if (!form.name.trim()) throw new Error(t("review.need-name"));
    if (!form.words.trim()) throw new Error(t("review.need-words"));
    if (form.files.length > opened.pictures) throw new Error(t("review.too-many", { n: opened.pictures }));
    const large = form.files.find((f) => f.size > most);
    if (large) throw new Error(t("review.too-large", { name: large.name, size: size(most) }));
    const pictures = [];
    for (const [i, f] of form.files.entries()) {
      set(t("review.sending", { n: i + 1, of: form.files.length }));
      const digest = await sha256(await f.arrayBuffer());
      await link.sendPicture(f, digest);
      pictures.push(digest);
    }
    onSent(await link.state({ name: form.name.trim(), words: form.words.trim(), pictures }));
    fill({ name: form.name, words: "", files: [] });
    done(sent + 1);
  };
  return html`<section class="sheet" aria-labelledby="h-add"><h2 id="h-add">${t("review.add")}</h2><p>${t("review.add-what")}</p>
    ${sent > 0 && html`<${Notice} kind="good"><p>${t("review.sent")}</p><//>`}
    ${opened.statements <= 0 ? html`<p>${t("review.no-more")}</p>` : html`
    <label class="field"><span>${t("review.name")}</span><input type="text" maxlength="200" autocomplete="name" value=${form.name} onInput=${(e) => fill({ ...form, name: e.target.value })} /></label>
    <label class="field"><span>${t("review.words")}</span><textarea maxlength="8000" value=${form.words} onInput=${(e) => fill({ ...form, words: e.target.value })}></textarea></label>
    ${canHash && opened.pictures > 0 && html`<label class="field"><span>${t("review.pictures")}</span><input key=${sent} type="file" accept="image/*" multiple onChange=${(e) => fill({ ...form, files: [...e.target.files] })} /><small>${t("review.pictures-hint", { n: opened.pictures, size: size(most) })}</small></label>`}
    ${error && html`<${Notice} kind="wrong"><p>${error}</p><//>`}
    <div class="btn-row"><${Do} act=${send} onError=${(e) => { set(""); fail(e.message); }} kind="main" icon="up">${t("review.send")}<//></div><p class="soft small" role="status">${way}</p>`}</section>`;
}
