// Short clips: their length is read from the file itself (in MP4 and MOV, ISO/IEC 14496-12, the box "mvhd" in "moov"; in WebM, RFC 9559, the
// segment's information), so that a clip is refused before it fills the phone, whatever the browser can play.

/** LONGEST is the longest clip that is kept, in seconds. */
export const LONGEST = 60;

/**
 * clipOf tells of a file whether it is a clip in MP4 or MOV or a sound in WebM ("clip"), another kind of recording ("other") or neither (""),
 * and a clip's length in seconds (null when the file does not say, as is usual where a browser wrote it while it recorded). type is the
 * kind of file where its content tells it. It reads a few hundred bytes.
 */
export async function clipOf(file) {
  const said = /^(video|audio)\//.test(file.type);
  const head = await bytes(file, 0, 12);
  if (head.byteLength === 12 && head.getUint32(0) === EBML) return (await webm(file)) || { kind: "other", seconds: null };
  if (head.byteLength < 12 || word(head, 4) !== "ftyp") return { kind: said ? "other" : "", seconds: null };
  if (!said && /^(heic|heix|heim|heis|mif1|msf1|hevc|avif)$/.test(word(head, 8))) return { kind: "", seconds: null };
  const movie = await find(file, 0, file.size, "moov");
  const lead = movie && (await find(file, movie.from, movie.to, "mvhd"));
  return { kind: "clip", seconds: lead ? length(await bytes(file, lead.from, lead.from + 32)) : null };
}

const bytes = async (file, from, to) => new DataView(await file.slice(from, to).arrayBuffer());
const word = (v, at) => String.fromCharCode(...new Uint8Array(v.buffer, at, 4));

// find walks the boxes between two places; a damaged file ends the walk.
async function find(file, from, to, name) {
  for (let at = from, n = 0; at + 8 <= to && n < 200; n++) {
    const v = await bytes(file, at, at + 16);
    if (v.byteLength < 8) return null;
    let size = v.getUint32(0), head = 8;
    if (size === 1) {
      if (v.byteLength < 16) return null;
      size = Number(v.getBigUint64(8));
      head = 16;
    } else if (size === 0) size = to - at;
    if (size < head) return null;
    if (word(v, 4) === name) return { from: at + head, to: Math.min(to, at + size) };
    at += size;
  }
  return null;
}

function length(v) {
  if (v.byteLength < 32) return null;
  const long = v.getUint8(0) === 1;
  const scale = v.getUint32(long ? 20 : 12), ticks = long ? Number(v.getBigUint64(24)) : v.getUint32(16);
  const unknown = ticks === 0 || ticks >= (long ? 2 ** 64 : 2 ** 32) - 1; // 14496-12: all bits set when not known
  return scale > 0 && !unknown ? ticks / scale : null;
}

// WebM is made of EBML elements (RFC 8794): an id, a size, a body.
const EBML = 0x1a45dfa3, DOCTYPE = 0x4282, SEGMENT = 0x18538067, INFO = 0x1549a966, SCALE = 0x2ad7b1, DURATION = 0x4489, TRACKS = 0x1654ae6b, TRACK = 0xae, KIND = 0x83, CLUSTER = 0x1f43b675, SOUND = 2;

// webm reads what a WebM says before its first block, and null when it is none, has something else than sound in it, or is damaged.
async function webm(file) {
  const head = await element(file, 0), segment = head && (await element(file, head.to));
  if (segment?.id !== SEGMENT) return null;
  const type = (await inside(file, head)).find((e) => e.id === DOCTYPE);
  if (!type || word(await bytes(file, type.from, type.from + 4), 0) !== "webm") return null;
  let kinds = [], seconds = null;
  for (let at = segment.from, n = 0; at < Math.min(segment.to, file.size) && n < 50; n++) {
    const e = await element(file, at);
    if (!e || e.id === CLUSTER) break;
    if (e.id === INFO) {
      const list = await inside(file, e), value = async (id) => { const x = list.find((y) => y.id === id); return x && bytes(file, x.from, Math.min(x.to, x.from + 8)); };
      const lasts = await value(DURATION), scale = await value(SCALE), d = lasts?.byteLength === 8 ? lasts.getFloat64(0) : lasts?.byteLength === 4 ? lasts.getFloat32(0) : NaN;
      seconds = d > 0 && d < Infinity ? (d * (scale ? number(scale) : 1e6)) / 1e9 : null;
    }
    if (e.id === TRACKS) {
      for (const track of (await inside(file, e)).filter((x) => x.id === TRACK)) {
        const kind = (await inside(file, track)).find((x) => x.id === KIND);
        kinds.push(kind ? number(await bytes(file, kind.from, Math.min(kind.to, kind.from + 8))) : 0);
      }
    }
    at = e.to;
  }
  return kinds.length && kinds.every((k) => k === SOUND) ? { kind: "clip", type: "audio/webm", seconds } : null;
}

const number = (v) => new Uint8Array(v.buffer).reduce((n, c) => n * 256 + c, 0);

async function inside(file, { from, to }) {
  const list = [];
  for (let at = from; at < to && list.length < 100;) {
    const e = await element(file, at);
    if (!e || e.to > to) break;
    list.push(e);
    at = e.to;
  }
  return list;
}

// element is the one at a place; a size that is left open goes to the file's end.
async function element(file, at) {
  const v = await bytes(file, at, at + 12), id = lengthTold(v, 0, 4), size = id && lengthTold(v, id.n, 8);
  if (!size) return null;
  const from = at + id.n + size.n, open = size.ones;
  return { id: id.whole, from, to: open ? file.size : from + size.rest };
}

// lengthTold reads a number whose first set bit tells how many bytes it has (RFC 8794, 4): whole with that bit, rest without it.
function lengthTold(v, at, most) {
  if (at >= v.byteLength) return null;
  const first = v.getUint8(at), n = Math.clz32(first) - 23, mask = 0xff >> n;
  if (n > most || at + n > v.byteLength) return null;
  let whole = first, rest = first & mask, ones = rest === mask;
  for (let i = 1; i < n; i++) {
    const c = v.getUint8(at + i);
    whole = whole * 256 + c;
    rest = rest * 256 + c;
    ones &&= c === 0xff;
  }
  return { n, whole, rest, ones };
}
