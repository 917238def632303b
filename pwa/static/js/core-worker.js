// The Worker in which the core runs: it fetches the WebAssembly, starts it, and passes questions on. The rule packs
// it reads itself: they are large, and the screen has no use for them.
import { db } from "./db.js";

let answer = null;

onmessage = async ({ data: { id, what, value, pixels } }) => {
  try {
    if (what === "start") {
      await import(value.at + "wasm_exec.js");
      const go = new globalThis.Go();
      const res = await fetch(value.at + "core.wasm");
      if (!res.ok) throw new Error(`the core could not be fetched (${res.status})`);
      const { instance } = await WebAssembly.instantiateStreaming(res, go.importObject);
      go.run(instance);
      answer = globalThis.kickplateCore;
      return postMessage({ id, result: true });
    }
    if (what === "packs") {
      const packs = (await (await db()).getAll("packs")).sort((a, b) => a.at - b.at);
      if (packs.length) {
        const { error } = JSON.parse(answer("packs", JSON.stringify(packs.map((p) => p.head))));
        if (error) throw new Error(error);
        for (const p of packs) answer(`pack:${p.id}`, p.text);
      }
      return postMessage({ id, result: packs.length });
    }
    postMessage({ id, text: answer(what, JSON.stringify(value), pixels) });
  } catch (e) {
    postMessage({ id, error: e.message });
  }
};
