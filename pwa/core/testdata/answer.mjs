// Answers questions with the shipped WebAssembly, one a line on standard input, as main.go does natively: {"question", "in", "pixels"}.
// usage: node answer.mjs BUILT-FOLDER
import { readFileSync } from "node:fs";
import { brotliDecompressSync } from "node:zlib";
import { runInThisContext } from "node:vm";
import { performance } from "node:perf_hooks";

const built = process.argv[2];
runInThisContext(readFileSync(`${built}/wasm_exec.js`, "utf8"));
const go = new globalThis.Go();
const { instance } = await WebAssembly.instantiate(brotliDecompressSync(readFileSync(`${built}/core.wasm.br`)), go.importObject);
go.run(instance);
const times = {}, answers = [];
for (const line of readFileSync(0, "utf8").split("\n")) {
  if (!line) continue;
  const { question, pixels } = JSON.parse(line);
  // The JSON of the question is passed on as it stands, not parsed and written again.
  const from = line.indexOf('"in":') + 5;
  const raw = line.slice(from, pixels ? line.lastIndexOf(',"pixels":') : line.length - 1);
  const start = performance.now();
  const out = globalThis.kickplateCore(question, raw, pixels ? new Uint8Array(Buffer.from(pixels, "base64")) : undefined);
  (times[question] ??= []).push(performance.now() - start);
  answers.push(out);
}
for (const [q, list] of Object.entries(times)) {
  list.sort((a, b) => a - b);
  console.error(`${q}: ${list.length} answers, median ${list[list.length >> 1].toFixed(2)} ms, slowest ${list.at(-1).toFixed(2)} ms`);
}
// The core waits for ever for more questions, so the end is said, once all is written.
process.stdout.write(`${answers.join("\n")}\n`, () => process.exit(0));
