// Talking to the server as somebody with a link: its secret goes out once, in a body; a cookie for this link's addresses does the rest.
import { t } from "../js/words.js";

/** secretOf reads shop.id.secret out of the address's fragment, which no browser sends anywhere. */
export function secretOf(fragment) {
  const token = decodeURIComponent(fragment.replace(/^#/, ""));
  const parts = token.split(".");
  return parts.length === 3 && /^[0-9a-f-]{36}$/.test(parts[1]) ? { token, id: parts[1] } : null;
}

/** Refused is what the server said no to, as a sentence; status 0 = it did not answer. */
export class Refused extends Error {
  constructor(status, says) { super(says); this.status = status; }
}

export class Link {
  constructor({ token, id }) {
    this.token = token;
    this.base = `/api/v1/review/${id}`;
  }

  async call(path, options = {}) {
    let res;
    try {
      res = await fetch(this.base + path, { cache: "no-store", credentials: "same-origin", referrerPolicy: "no-referrer", ...options });
    } catch {
      throw new Refused(0, t("review.no-answer"));
    }
    if (res.ok) return res;
    const p = await res.json().catch(() => ({}));
    throw new Refused(res.status, p.detail || t("review.fault", { status: String(res.status) }));
  }

  async open() {
    return (await this.call("/open", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ token: this.token }) })).json();
  }

  /** again repeats a request once after opening the link anew: a page that was open for long has lost its cookie. */
  async again(path, options) {
    try {
      return await this.call(path, options);
    } catch (e) {
      if (e.status !== 404 || path === "/open") throw e;
      await this.open();
      return this.call(path, options);
    }
  }

  async bytes(name) {
    const res = await this.again(`/file?${new URLSearchParams({ name })}`);
    try {
      return new Uint8Array(await res.arrayBuffer());
    } catch {
      // The server breaks an answer off when a file no longer has its checksum.
      throw new Refused(0, t("review.broken-off", { name }));
    }
  }

  /** bundle fetches the whole file and tells of the way. */
  async bundle(onBytes) {
    const res = await this.again("/bundle");
    const parts = [], reader = res.body.getReader();
    let n = 0;
    for (;;) {
      const { done, value } = await reader.read().catch(() => { throw new Refused(0, t("review.no-answer")); });
      if (done) break;
      parts.push(value);
      n += value.length;
      onBytes(n);
    }
    return new Blob(parts, { type: "application/zip" });
  }

  async sendPicture(file, digest) {
    await this.again(`/pictures/${digest}`, { method: "PUT", headers: { "Content-Type": "application/octet-stream" }, body: file });
  }

  async state(what) {
    return (await this.again("/statements", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(what) })).json();
  }
}
