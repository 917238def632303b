// The Worker in which the core runs: it fetches the WebAssembly, starts it, and passes questions on.
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
      const refused = JSON.parse(answer("packs", JSON.stringify(value.map((p) => p.head)))).error;
      if (!refused) for (const p of value) answer(`pack:${p.id}`, p.text);
      return postMessage({ id, result: !refused, error: refused });
    }
    postMessage({ id, text: answer(what, JSON.stringify(value), pixels) });
  } catch (e) {
    postMessage({ id, error: e.message });
  }
};
