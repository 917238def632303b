// Where the phone is, when its owner lets us know. A photo never waits for it.
let last = null, asking = false;

/** placeWanted is whether pictures get a position; the person decides on the phone screen. */
export const placeWanted = () => localStorage.getItem("position") !== "no";
export const wantPlace = (yes) => localStorage.setItem("position", yes ? "yes" : "no");

/** findPlace asks for a position in the background, at most every half minute. */
export function findPlace() {
  if (!placeWanted() || asking || !navigator.geolocation || !isSecureContext || (last && Date.now() - last.at < 30000)) return;
  asking = true;
  navigator.geolocation.getCurrentPosition(
    ({ coords: c }) => { asking = false; last = { at: Date.now(), lat: c.latitude, lon: c.longitude, accuracy: c.accuracy || 0 }; },
    () => { asking = false; },
    { enableHighAccuracy: true, timeout: 20000, maximumAge: 60000 },
  );
}

/** placeNow is the position of the last five minutes, or undefined. */
export function placeNow() {
  if (!last || Date.now() - last.at > 300000) return undefined;
  const round = (x, n) => Math.round(x * n) / n;
  return { lat: round(last.lat, 1e6), lon: round(last.lon, 1e6), accuracy: Math.ceil(last.accuracy) };
}
