// Where the phone is: asked only between "start" and "have it", or typed; the screen is kept on in a sounding run alone.
const ENOUGH_M = 5;
const LONGEST_MS = 60_000;
export const counted = { asked: 0 };

export const canAsk = () => globalThis.isSecureContext && "geolocation" in navigator;

/** Ask until the accuracy is enough, a minute is over, or `signal` ends it; `told` hears of each better place. */
export function ask(told, signal) {
  return new Promise((done, failed) => {
    let best = null;
    let watch = null;
    let timer = null;
    const end = (error) => {
      navigator.geolocation.clearWatch(watch);
      clearTimeout(timer);
      if (best) done(best);
      else failed(error || new Error("No place was found; type it, or try under the open sky."));
    };
    counted.asked += 1;
    watch = navigator.geolocation.watchPosition(
      (found) => {
        const { latitude, longitude, accuracy } = found.coords;
        if (!best || accuracy < best.accuracy_m) best = { latitude_deg: latitude, longitude_deg: longitude, accuracy_m: Math.round(accuracy * 10) / 10, how: "gps", at: new Date(found.timestamp).toISOString() };
        told(best);
        if (best.accuracy_m <= ENOUGH_M) end();
      },
      (error) => end(new Error(error.code === 1 ? "This phone does not let the page know where it is; type the place." : "No place was found; type it, or try under the open sky.")),
      { enableHighAccuracy: true, maximumAge: 0, timeout: LONGEST_MS },
    );
    timer = setTimeout(() => end(), LONGEST_MS);
    signal.addEventListener("abort", () => end(new Error("Left off.")));
  });
}

/** Hear of each place until the function that is returned is called; `broken` hears why there is none. */
export function follow(told, broken) {
  counted.asked += 1;
  const watch = navigator.geolocation.watchPosition(
    ({ coords: { latitude, longitude, accuracy }, timestamp }) => told({ latitude_deg: latitude, longitude_deg: longitude, accuracy_m: Math.round(accuracy * 10) / 10, at: new Date(timestamp).toISOString() }),
    // a minute without a place is no end: trees and banks hide the sky
    (error) => { if (error.code === 1) broken("This phone does not let the page know where it is; type the corners."); },
    { enableHighAccuracy: true, maximumAge: 0, timeout: LONGEST_MS },
  );
  return () => navigator.geolocation.clearWatch(watch);
}

/** Return typed degrees, or throw words. */
export function typed(text) {
  const found = text.trim().match(/^(-?\d{1,2}(?:\.\d+)?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)$/);
  if (!found) throw new Error("Write latitude, longitude in degrees: 35.86521, -79.56312.");
  const [latitude_deg, longitude_deg] = [Number(found[1]), Number(found[2])];
  if (Math.abs(latitude_deg) > 90 || Math.abs(longitude_deg) > 180) throw new Error("A latitude is within 90, a longitude within 180 degrees.");
  return { latitude_deg, longitude_deg, accuracy_m: null, how: "typed" };
}

let lock = null;
export async function stayAwake(on) {
  if (on && (!lock || lock.released) && "wakeLock" in navigator) lock = await navigator.wakeLock.request("screen").catch(() => null);
  else if (!on && lock) {
    await lock.release().catch(() => null);
    lock = null;
  }
}
