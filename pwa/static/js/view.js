// The view library in one place: everything else imports it from here, so that it could be changed for another.
import { h, render, Fragment } from "../vendor/preact.mjs";
import htm from "../vendor/htm.mjs";

export { render, Fragment };
export { useState, useEffect, useLayoutEffect, useRef, useMemo, useCallback } from "../vendor/hooks.mjs";
export const html = htm.bind(h);
