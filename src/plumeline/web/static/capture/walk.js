// Walking the bank: each point is kept as it comes, before the next one; the ring is closed by the office's own reading of it.
import { keepDraft } from "./drafts.js";
import * as keep from "./keep.js";
import { at, failed, forms, now, say } from "./page.js";
import * as place from "./place.js";

const STEP_M = 2; // nearer to the last point it is the receiver's own noise
const ROUGH_M = 25; // a place that is worse is none of a shore
const MOST = 4000; // an item holds no more
const EARTH_M_DEG = 111_195;
const FT = 0.3048;
const walk = { stop: null, rough: 0, number: 0, last: null };

const form = () => forms().find((one) => one.dataset.kind === "shore");
export const walking = () => walk.stop !== null;
const plural = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
const length = (m) => `${Math.round(m / FT)} ft (${Math.round(m)} m)`;

// metres east and north of the first point; good to a part in a thousand over a pond
function flat(places) {
  const [first] = places;
  const east = EARTH_M_DEG * Math.cos((first.latitude_deg * Math.PI) / 180);
  return places.map((one) => [(one.longitude_deg - first.longitude_deg) * east, (one.latitude_deg - first.latitude_deg) * EARTH_M_DEG]);
}

const apart = ([x, y], [u, v]) => Math.hypot(x - u, y - v);

function words() {
  const seen = walk.last ? ` The phone is good to ${walk.last.accuracy_m} m now.` : "";
  const rough = walk.rough ? ` Left out: ${plural(walk.rough, "place")} worse than ${ROUGH_M} m.` : "";
  if (!now.walk.length) return `No point yet.${seen}${rough}`;
  const xy = flat(now.walk);
  const steps = xy.slice(1).map((one, n) => apart(one, xy[n]));
  const way = steps.reduce((sum, one) => sum + one, 0);
  const gap = apart(xy[0], xy[xy.length - 1]);
  const area = Math.abs(xy.reduce((sum, [x, y], n) => { const [u, v] = xy[(n + 1) % xy.length]; return sum + x * v - u * y; }, 0)) / 2;
  const told = [`${plural(now.walk.length, "point")} kept, ${length(way)} of way`];
  if (xy.length > 2) told.push(`the ends ${length(gap)} apart, the longest step ${length(Math.max(...steps))}`, `closed it holds ${(area / 4046.86).toFixed(2)} acre (${(area / 1e4).toFixed(3)} ha)`);
  return `${told.join("; ")}.${seen}${rough}`;
}

function drawn() {
  const drawing = at("walk-drawing");
  drawing.toggleAttribute("hidden", now.walk.length < 2);
  if (now.walk.length < 2) return;
  const xy = flat(now.walk);
  const [left, right, low, high] = [0, 1].flatMap((n) => [Math.min(...xy.map((one) => one[n])), Math.max(...xy.map((one) => one[n]))]);
  const scale = Math.min(300 / (right - left || 1), 180 / (high - low || 1));
  const [first, ...rest] = xy.map(([x, y]) => `${(10 + (x - left) * scale).toFixed(1)},${(190 - (y - low) * scale).toFixed(1)}`);
  drawing.querySelector("polyline").setAttribute("points", [first, ...rest].join(" "));
  drawing.querySelector("polygon").setAttribute("points", `${rest[rest.length - 1]} ${first}`);
}

/** Show what was walked so far. */
export function walkShown() {
  at("walked").textContent = words();
  at("walk").textContent = walking() ? "Stop walking" : now.walk.length ? "Go on walking" : "Start walking";
  at("walk-back").hidden = !now.walk.length;
  drawn();
}

// kept by itself: a walk of an hour is not written anew for each step
function add(one) {
  walk.number += 1;
  const point = { ...one, key: keep.walkKey(walk.number) };
  now.walk.push(point);
  keep.put("state", point, point.key).then(() => { document.documentElement.dataset.walked = String(now.walk.length); }, failed);
  if (now.walk.length === 1) keepDraft(form());
  walkShown();
}

function came(found) {
  walk.last = found;
  if (found.accuracy_m > ROUGH_M) walk.rough += 1;
  else {
    const before = now.walk[now.walk.length - 1];
    if (!before || apart(...flat([before, found])) >= STEP_M) { add(found); if (now.walk.length >= MOST) { stopWalking(); say(`${MOST} points are as many as one walk holds: keep this one.`); } return; }
  }
  walkShown();
}

export function stopWalking() {
  if (walk.stop) walk.stop();
  walk.stop = null;
  walk.last = null;
  place.stayAwake(false);
  walkShown();
}

function start() {
  walk.stop = place.follow(came, (said) => { stopWalking(); say(now.walk.length ? `${said} What was walked is kept.` : said); });
  place.stayAwake(true);
  walkShown();
}

async function back() {
  const gone = now.walk.pop();
  if (!gone) return;
  walkShown();
  await keep.drop("state", gone.key).catch(failed);
  await keepDraft(form());
}

/** Add the corner that is typed, where there is one; false where it is none. */
export function typedCorner() {
  const field = at("shore-corner");
  if (!field.value.trim()) return true;
  try { add(place.typed(field.value)); } catch (error) { say(error.message); field.focus(); return false; }
  field.value = "";
  keepDraft(form());
  return true;
}

/** Begin with no point: the walk is in the outbox. */
export function walkOver() {
  Object.assign(walk, { rough: 0, last: null });
  now.walk = [];
  walkShown();
}

/** Take up what an earlier opening of the page kept. */
export async function walkKept() {
  now.walk = await keep.walked();
  walk.number = Number(now.walk[now.walk.length - 1]?.key.slice(-6) || 0);
  if (!now.walk.length) return;
  now.drafts.shore ??= { fields: {}, photos: [], position: null };
  say(`A walk of ${plural(now.walk.length, "point")} is kept here. Go on where it broke off, or keep it as it is.`);
}

export function walkListen() {
  if (!place.canAsk()) at("walk").hidden = true;
  at("walk").addEventListener("click", () => (walking() ? stopWalking() : start()));
  at("walk-back").addEventListener("click", () => back().catch(failed));
  at("walk-typed").addEventListener("click", () => { if (!at("shore-corner").value.trim()) say("Type a corner first."); else typedCorner(); });
}
