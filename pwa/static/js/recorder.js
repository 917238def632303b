// Sound recorded on the page, where the browser can: a noisy fan needs no film. What the browser writes is kept as it is.
import { useEffect, useRef, useState } from "./view.js";
import { LONGEST } from "./clip.js";
import { t } from "./words.js";

/** canRecord is true where the browser lets a page record sound, in a kind of file that is taken. */
export const canRecord = () => isSecureContext && Boolean(navigator.mediaDevices?.getUserMedia && kindOf());

// AAC plays everywhere; some browsers only write Opus. WebM comes last: not every phone plays it.
const kindOf = () => window.MediaRecorder && ["audio/mp4;codecs=mp4a.40.2", "audio/mp4", "audio/webm;codecs=opus"].find((k) => MediaRecorder.isTypeSupported(k));

// A phone's microphone is set up for voices: left to itself it would take the fan out as noise, and make a faint rattle as loud as a bang.
const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

/**
 * useRecorder is the page's microphone: {step, left, says, problem, seconds, file, url, start, stop, drop}. step is idle, asking, on (left
 * counts the seconds down; it stops by itself at 0) or done (file holds the recording). says is what a screen reader is to say.
 */
export function useRecorder() {
  const idle = { step: "idle", says: "", problem: canRecord() ? "" : t("sound.cannot") };
  const [now, set] = useState(idle), live = useRef({});
  useEffect(() => () => { live.current.gone = true; live.current.end?.(); }, []);
  useEffect(() => () => { if (now.url) URL.revokeObjectURL(now.url); }, [now.url]);

  const start = async () => {
    if (!canRecord()) return;
    set({ ...idle, step: "asking", says: t("sound.asking") });
    let stream = null;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ audio: AS_IT_IS });
      if (!live.current.gone) record(stream);
    } catch (e) {
      if (!live.current.gone) set({ ...idle, problem: t(e.name === "NotAllowedError" ? "sound.refused" : "sound.none") });
    }
    if (live.current.gone || !live.current.end) stream?.getTracks().forEach((x) => x.stop());
  };

  const record = (stream) => {
    const recorder = new MediaRecorder(stream, { mimeType: kindOf() }), pieces = [];
    let from = performance.now(), clock = null, wake = null, why = "phone", last = null;
    const end = (reason) => { why = reason || why; if (recorder.state !== "inactive") recorder.stop(); };
    const tick = () => {
      const left = Math.ceil(LONGEST - (performance.now() - from) / 1000);
      if (left <= 0) end("limit");
      else if (left !== last) set((was) => ({ ...was, left, says: left === 10 ? t("sound.left", { n: left }) : was.says }));
      last = left;
    };
    recorder.ondataavailable = (e) => pieces.push(e.data);
    recorder.onerror = () => end();
    recorder.onstart = () => {
      from = performance.now();
      clock = setInterval(tick, 200);
      set({ ...idle, step: "on", left: LONGEST, says: t("sound.on", { n: LONGEST }) });
    };
    recorder.onstop = () => {
      clearInterval(clock);
      wake?.release().catch(() => {});
      stream.getTracks().forEach((x) => x.stop());
      live.current.end = null;
      if (live.current.gone) return;
      const type = recorder.mimeType.split(";")[0], blob = new Blob(pieces, { type }), seconds = Math.min(LONGEST, Math.max(1, Math.round((performance.now() - from) / 1000)));
      if (!blob.size) { set({ ...idle, problem: t("sound.empty") }); return; }
      const file = new File([blob], `sound.${type === "audio/webm" ? "webm" : "m4a"}`, { type, lastModified: Date.now() });
      set({ ...idle, step: "done", file, url: URL.createObjectURL(file), seconds, says: t(`sound.done-${why}`, { n: seconds }) });
    };
    recorder.start();
    live.current.end = end;
    // A phone that locks itself in the middle would end the recording.
    navigator.wakeLock?.request("screen").then((w) => { wake = w; if (recorder.state === "inactive") w.release(); }).catch(() => {});
  };

  return { ...now, start, stop: () => live.current.end?.("person"), drop: () => set(idle) };
}
