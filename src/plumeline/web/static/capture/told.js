// What waits on this phone in words, and all of it as a file: for the page at the water and for signing out.
import * as keep from "./keep.js";
import { file } from "./outbox.js";

const HOUR_MS = 3_600_000;
const NAMES = { profile: "profile", gauge: "gauge", sounding: "sounding", shore: "shore", note: "note", photo: "photo" };

export const ago = (ms) => (ms < HOUR_MS ? `${Math.max(1, Math.round(ms / 60_000))} min` : ms < 48 * HOUR_MS ? `${Math.round(ms / HOUR_MS)} h` : `${Math.round(ms / (24 * HOUR_MS))} days`);

// of which pond an item is, as its own text says it
function pondOf(one, names) {
  const { pond_id: id, pond_name_typed: typed } = JSON.parse(one.text);
  const name = typed || names.get(id) || (id ? "a pond that is not on this phone now" : "no pond named");
  return ` of ${name}`.replace("of no pond", "with no pond");
}

/** Return each item that waits with its kind, pond, age and size in words, the oldest first. */
export async function allTold() {
  const found = (await keep.all("outbox")).sort((a, b) => a.made_at.localeCompare(b.made_at));
  const names = new Map(((await keep.read("state", "ponds"))?.ponds || []).map((one) => [one.id, one.name]));
  return found.map((one) => ({ one, words: `${NAMES[one.kind]}${pondOf(one, names)}, ${ago(Date.now() - Date.parse(one.made_at))} old, ${(one.size_bytes / 1000).toFixed(1)} kB` }));
}

const NO_VALUE = /^(unit_.*|keep_place|pond|pond_typed)$/; // what says whose reading it is, and in what units

/** Return each form that is begun and no reading yet, with how much stands in it in words. */
export async function begunTold() {
  const points = (await keep.walked()).length;
  const kinds = new Set(await keep.keys("drafts"));
  if (points) kinds.add("shore");
  return Promise.all([...kinds].map(async (kind) => {
    const { fields = {}, photos = [] } = (await keep.read("drafts", kind)) || {};
    const values = Object.entries(fields).filter(([name]) => !NO_VALUE.test(name)).flatMap(([, typed]) => typed).filter((value) => value.trim()).length;
    const parts = [[values, "value"], [photos.length, "photo"], [kind === "shore" ? points : 0, "point"]];
    const said = parts.filter(([count]) => count).map(([count, name]) => `${count} ${name}${count === 1 ? "" : "s"}`).join(", ");
    return { kind, photos: photos.map((photo) => photo.sha256), words: `${NAMES[kind]} begun: ${said || "a place"}; no reading yet, so not in the file` };
  }));
}

/** Write all that waits to a file; it stays on the phone. */
export async function toFile() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await file());
  link.download = `readings-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
