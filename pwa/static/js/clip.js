// Short clips: their length is read from the file itself (ISO/IEC 14496-12, the box "mvhd" in "moov"), so that a clip is refused before it
// fills the phone, whatever the browser can play.

/** LONGEST is the longest clip that is kept, in seconds. */
export const LONGEST = 60;

/**
 * clipOf tells of a file whether it is a clip in MP4 or MOV ("clip"), another kind of recording ("other") or neither (""), and a clip's
 * length in seconds (null when the file does not say). It reads a few hundred bytes.
 */
export async function clipOf(file) {
  const said = /^(video|audio)\//.test(file.type);
  const head = await bytes(file, 0, 12);
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
