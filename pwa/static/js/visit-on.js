// Which job this phone is at.
const name = "visit-on";

/** visitOn is the job whose visit was begun on this phone and has not been left, or null. */
export const visitOn = () => localStorage.getItem(name);

/** noteVisit is told of every entry as it is kept. */
export function noteVisit(job, kind) {
  if (kind === "arrive") localStorage.setItem(name, job);
  if (kind === "leave" && visitOn() === job) localStorage.removeItem(name);
}
