// Checking in the browser: every file that is shown is held against the bundle's own list of SHA-256 sums, and the whole bundle goes
// through the same checker as `kickplate verify`, compiled to WebAssembly.
import { t } from "../js/words.js";

const hex = (buffer) => [...new Uint8Array(buffer)].map((b) => b.toString(16).padStart(2, "0")).join("");
/** canHash: browsers give pages cryptography over HTTPS only (and on the server's own machine). */
export const canHash = Boolean(globalThis.crypto?.subtle);
export const sha256 = async (bytes) => hex(await crypto.subtle.digest("SHA-256", bytes));

const listOf = (text) => new Map(text.split("\n").filter(Boolean).map((l) => [l.slice(66), l.slice(0, 64)]));

/** Files reads files of the bundle and counts which are what its lists say. */
export class Files {
  constructor(link) {
    this.link = link;
    this.sums = new Map();
    this.good = new Set();
    this.bad = new Map();
    this.changed = () => {};
  }

  /** lists reads the two lists of sums and holds the first against the second. */
  async lists() {
    const decode = (b) => new TextDecoder().decode(b);
    const tags = listOf(decode(await this.link.bytes("tagmanifest-sha256.txt")));
    const manifest = await this.link.bytes("manifest-sha256.txt");
    this.sums = new Map([...tags, ...listOf(decode(manifest))]);
    await this.judge("manifest-sha256.txt", manifest);
  }

  async judge(name, bytes) {
    if (!canHash) return;
    const want = this.sums.get(name), got = await sha256(bytes);
    if (want === got) {
      this.good.add(name);
    } else {
      this.bad.set(name, want ? t("review.other-sum", { name }) : t("review.not-listed", { name }));
      console.warn("kickplate: the sum does not fit", name);
    }
    this.changed();
  }

  /** read gives a file's bytes. What is not what the list says is still given, and said. */
  async read(name) {
    let bytes;
    try {
      bytes = await this.link.bytes(name);
    } catch (e) {
      if (e.status === 0) { this.bad.set(name, e.message); this.changed(); }
      throw e;
    }
    await this.judge(name, bytes);
    return bytes;
  }
}

/** whole runs the checker over a bundle in a Worker of its own: {holds, checks, …}; onBytes hears how far it has read. */
export function whole(blob, pictures, onBytes) {
  return new Promise((done, fail) => {
    const worker = new Worker(new URL("./check-worker.js", import.meta.url), { type: "module" });
    const at = document.querySelector('meta[name="kickplate-checker"]').content;
    worker.onmessage = ({ data }) => {
      if (data.at !== undefined) return onBytes(data.at);
      worker.terminate();
      if (data.error) fail(new Error(data.error));
      else done(data.report);
    };
    worker.onerror = (e) => { worker.terminate(); fail(new Error(e.message || t("review.checker-away"))); };
    worker.postMessage({ at, blob, pictures });
  });
}
