// SHA-256 and UUIDv7, both from the platform's own cryptography.

/** sha256 gives the digest of bytes (ArrayBuffer or view) as 64 lower-case hexadecimal digits. */
export async function sha256(bytes) {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...sum].map((b) => b.toString(16).padStart(2, "0")).join("");
}

/** uuid7 makes an id that sorts by time (RFC 9562 section 5.7). */
export function uuid7(now = Date.now()) {
  const b = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 5, v = now; i >= 0; i--) { b[i] = v % 256; v = Math.floor(v / 256); }
  b[6] = 0x70 | (b[6] & 0x0f);
  b[8] = 0x80 | (b[8] & 0x3f);
  const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

/** zoned writes a moment with milliseconds and this phone's zone offset, as RFC 3339 wants it. */
export function zoned(d = new Date()) {
  const off = -d.getTimezoneOffset(), abs = Math.abs(off), two = (n) => String(n).padStart(2, "0");
  const local = new Date(d.getTime() + off * 60000).toISOString().slice(0, 23);
  return `${local}${off < 0 ? "-" : "+"}${two(Math.floor(abs / 60))}:${two(abs % 60)}`;
}

/** dayHere is the calendar day of a moment where this device is, as YYYY-MM-DD. */
export const dayHere = (d = new Date()) => zoned(d).slice(0, 10);
