// Long screens, drawn part by part: what is at the top stands at once, and a tap is answered between two parts.
import { useEffect, useRef, useState } from "./view.js";
import { turn } from "./turns.js";

/**
 * Unroll draws the first of its parts at once and the others as their turn comes, both when they are new and when they have changed, step
 * parts at a time. Until its turn comes, a part stays as it was drawn before.
 */
export function Unroll({ first = 1, step = 1, children }) {
  const [, draw] = useState(0), shown = useRef([]), from = useRef(), due = useRef(0), asked = useRef(false), count = useRef(0);
  if (from.current !== children) {
    from.current = children;
    due.current = first;
  }
  const parts = [children].flat();
  count.current = parts.length;
  const before = (i) => { const was = shown.current[i]; return was && was.type === parts[i]?.type && was.key === parts[i].key ? was : null; };
  shown.current = parts.map((p, i) => (i < due.current ? p : before(i))); // the same node again is not looked into
  useEffect(() => {
    if (due.current >= count.current || asked.current) return;
    asked.current = true;
    turn(() => {
      due.current += step;
      draw((n) => n + 1);
      return (asked.current = due.current < count.current);
    });
  });
  return shown.current;
}
