// The Worker in which the checker runs: it reads the bundle from the browser's own copy, a block at a time.
onmessage = async ({ data: { at, blob, pictures } }) => {
  try {
    await import(at + "wasm_exec.js");
    const go = new globalThis.Go();
    const res = await fetch(at + "verify.wasm");
    if (!res.ok) throw new Error(`the checker could not be fetched (${res.status})`);
    const { instance } = await WebAssembly.instantiateStreaming(res, go.importObject);
    go.run(instance);
    const reader = new FileReaderSync();
    const read = (from, n) => new Uint8Array(reader.readAsArrayBuffer(blob.slice(from, from + n)));
    const report = JSON.parse(globalThis.kickplateVerify(blob.size, read, (far) => postMessage({ at: far }), pictures));
    postMessage(report.error ? { error: report.error } : { report });
  } catch (e) {
    postMessage({ error: e.message });
  }
};
