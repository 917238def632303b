// The button that opens the camera. The system's own camera through a file field is the way that works everywhere: one tap
// here, and what comes back is kept at once.
import { html, useState } from "./view.js";
import { Icon } from "./icons.js";
import { keepPhoto } from "./intake.js";
import { findPlace } from "./place.js";
import { tell } from "./parts.js";
import { t } from "./words.js";

// What can be chosen from the device; some phones know sound files by their endings only.
const SOUND = "audio/mp4,audio/x-m4a,audio/webm,.m4a", ANY = `image/*,application/pdf,video/mp4,video/quicktime,${SOUND}`;

/** ShotButton keeps what was taken as a photo of the job and hands its entry to onKept. body says what it shows; gallery chooses a file, "sound" one of sound. */
export function ShotButton({ job, body, onKept, children, kind = "", gallery = false, clip = false, quiet = false, icon }) {
  const [busy, set] = useState(false);
  const taken = async (e) => {
    const input = e.currentTarget, files = [...input.files];
    input.value = "";
    if (!files.length) return;
    set(true);
    try {
      let entry;
      for (const f of files) entry = await keepPhoto(job, f, body, !gallery);
      if (!quiet) tell(t(clip ? "clip.kept" : gallery === "sound" ? "sound.kept" : "shoot.kept", { n: files.length }));
      await onKept?.(entry);
    } catch (x) { tell(x.message); } finally { set(false); }
  };
  const field = clip ? { accept: "video/*", capture: "environment" } : gallery ? { accept: gallery === "sound" ? SOUND : ANY, multiple: true } : { accept: "image/*", capture: "environment" };
  return html`<span class=${`btn file-btn ${kind}`}>${icon !== "" && html`<${Icon} name=${icon || (gallery ? "document" : "camera")} />`}<span>${busy ? t("shoot.keeping") : children}</span>
    <input type="file" ...${field} aria-label=${typeof children === "string" ? children : children?.join?.("")} onClick=${findPlace} onChange=${taken} disabled=${busy} /></span>`;
}
