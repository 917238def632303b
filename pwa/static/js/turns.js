// Long work in pieces: between two of them the screen is drawn and a tap is answered.

/** painted waits until what stands now has been drawn; on a page that nobody sees, a moment. */
export const painted = () => new Promise((done) => {
  requestAnimationFrame(() => setTimeout(done));
  setTimeout(done, 200);
});

const SPELL = 5; // ms: with the piece that goes over it and its drawing, short enough that no tap waits for it
const waiting = [];
let going = false;
/** turn runs f again and again, until it says that nothing is left (false). It takes turns with others, and between two spells what was done is drawn. */
export function turn(f) {
  waiting.push(f);
  if (!going) go();
}
async function go() {
  going = true;
  for (await painted(); waiting.length; await painted()) {
    const from = performance.now();
    do {
      if (!waiting[0]()) waiting.shift();
      await null; // the view library draws what has changed
    } while (waiting.length && performance.now() - from < SPELL);
  }
  going = false;
}
