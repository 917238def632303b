// Long work in pieces: between two of them the screen is drawn and a tap is answered.

/** painted waits until what stands now has been drawn; on a page that nobody sees, a moment. */
export const painted = () => new Promise((done) => {
  requestAnimationFrame(() => setTimeout(done));
  setTimeout(done, 200);
});

const waiting = [];
let going = false;
/** turn runs f in a task of its own once it is its turn: one after another, each when what the one before drew is on the screen. */
export function turn(f) {
  waiting.push(f);
  if (!going) go();
}
async function go() {
  going = true;
  for (await painted(); waiting.length; await painted()) waiting.shift()();
  going = false;
}
