// A reading made of a form: its exact text goes into the outbox, once, and what was typed meanwhile stays.
import { fieldsOf, hold, keepDraft } from "./drafts.js";
import { endFinding, fill, oddOnes, placed } from "./form.js";
import * as keep from "./keep.js";
import { at, failed, now, say } from "./page.js";
import * as place from "./place.js";
import { sha256, uuid7 } from "./sha256.js";
import { stopWalking, typedCorner, walkOver } from "./walk.js";

const text = (draft, name) => (draft.fields[name]?.[0] || "").trim();
const ROW = ["depth", "temperature", "oxygen", "note"];
const digits = (value, count) => (value === null ? null : Number(value.toFixed(count)));

// one list for each number: a walk of an hour in few bytes
function walkedPlaces() {
  const start = Date.parse(now.walk.find((one) => one.at)?.at);
  return {
    latitude_deg: now.walk.map((one) => digits(one.latitude_deg, 7)), longitude_deg: now.walk.map((one) => digits(one.longitude_deg, 7)),
    accuracy_m: now.walk.map((one) => one.accuracy_m), after_s: now.walk.map((one) => (one.at ? digits((Date.parse(one.at) - start) / 1000, 1) : null)),
  };
}

const BODIES = {
  profile: (draft) => ({
    place: text(draft, "place"),
    secchi: text(draft, "secchi"),
    rows: draft.fields.depth.map((_, n) => Object.fromEntries(ROW.map((name) => [name, draft.fields[name][n].trim()]))).filter((one) => Object.values(one).some(Boolean)),
    units: { depth: text(draft, "unit_depth"), temperature: text(draft, "unit_temperature"), oxygen: "mg/L" },
  }),
  gauge: (draft) => ({ what: text(draft, "what"), pressure: text(draft, "pressure"), unit: text(draft, "unit_pressure"), flow: text(draft, "flow") || null, flow_unit: text(draft, "flow") ? "scfm" : null }),
  sounding: (draft) => ({ depth: text(draft, "depth"), unit: text(draft, "unit_depth"), muck: text(draft, "muck") || null, level: text(draft, "level") || null }),
  shore: (draft) => ({ what: text(draft, "island") || "shore", remark: text(draft, "remark"), places: walkedPlaces() }),
  note: (draft) => ({ text: text(draft, "text") }),
  photo: (draft) => ({ caption: text(draft, "caption") }),
};
const NEEDED = { profile: ["depth", "a depth"], gauge: ["pressure", "the pressure"], sounding: ["depth", "the depth"], note: ["text", "some words"] };
const GOES_ON = /^(pond|pond_typed|unit_.*)$/; // to the next reading

function offset(when) {
  const min = -when.getTimezoneOffset();
  const two = (x) => String(Math.abs(x)).padStart(2, "0");
  const local = new Date(when.getTime() + min * 60_000).toISOString().slice(0, 23);
  return `${local}${min < 0 ? "-" : "+"}${two(Math.trunc(min / 60))}:${two(min % 60)}`;
}

// the words for what is missing, or null
function missing(form, draft) {
  const kind = form.dataset.kind;
  const [name, called] = NEEDED[kind] || [];
  if (name && !(draft.fields[name] || []).some((value) => value.trim())) return `Type ${called} first.`;
  if (kind === "shore" && new Set(now.walk.map((one) => `${one.latitude_deg} ${one.longitude_deg}`)).size < 3) return "Walk round the water first: a shore has three points at least.";
  return kind === "photo" && !draft.photos.length ? "Take or choose a photo first." : null;
}

const SURE_MS = 1000; // a second tap sooner is one tap that bounced
const asked = {};

// what can't be is asked for once more, with its reason; kept as typed where the same is kept again
function isSure(form) {
  const kind = form.dataset.kind;
  const odd = oddOnes(form);
  if (!odd.length) return true;
  const words = odd.map((one) => `${one.name}: ${one.words}`).join(" ");
  if (asked[kind]?.words === words && Date.now() - asked[kind].at > SURE_MS) return true;
  if (asked[kind]?.words !== words) asked[kind] = { words, at: Date.now() };
  say(`Not kept yet. ${words} Mend it, or tap Keep again to keep it as typed.`);
  odd[0].field.focus();
  return false;
}

async function made(kind, draft) {
  const when = new Date();
  const pond = text(draft, "pond");
  const known = (await keep.read("state", "ponds"))?.ponds?.find((one) => one.id === pond);
  const item = {
    format: 1, id: uuid7(when.getTime()), device_id: now.device.id, device_name: now.device.name || "phone", author: at("author").value.trim().slice(0, 60),
    pond_id: known ? pond : null, pond_name_typed: known ? null : text(draft, "pond_typed") || null, kind, made_at: offset(when),
    time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC", gps_at: draft.position?.at || (kind === "shore" && now.walk.map((one) => one.at).filter(Boolean).pop()) || null,
    clock_skew_s: (await keep.read("state", "skew_s")) ?? null, counter: now.counter + 1, supersedes: null, base_number: known?.number ?? null,
    body: BODIES[kind](draft),
    photos: draft.photos.map(({ sha256: sha, size_bytes, type }) => ({ sha256: sha, size_bytes, type, keep_place: text(draft, "keep_place") === "true" })),
  };
  if (kind !== "note" && kind !== "shore") item.body.position = draft.position && { latitude_deg: draft.position.latitude_deg, longitude_deg: draft.position.longitude_deg, accuracy_m: draft.position.accuracy_m, how: draft.position.how };
  return item;
}

async function intoOutbox(kind, draft) {
  const item = await made(kind, draft);
  const written = JSON.stringify(item);
  const bytes = new TextEncoder().encode(written);
  const size_bytes = bytes.length + draft.photos.reduce((sum, one) => sum + one.size_bytes, 0);
  await keep.finish({ id: item.id, text: written, sha256: await sha256(bytes), kind, made_at: item.made_at, size_bytes, photos: draft.photos.map((one) => one.sha256), answered: false, words: "" }, kind, item.counter);
  now.counter = item.counter;
}

// what the next reading begins with: the pond and the units, and whatever was typed while this one was being kept
function left(kept, after) {
  const fields = {};
  for (const [name, values] of Object.entries(after.fields)) {
    if (GOES_ON.test(name) || String(values) !== String(kept.fields[name])) fields[name] = values;
  }
  if ("depth" in kept.fields && kept.fields.temperature) {
    const changed = (after.fields.depth || []).map((_, n) => n).filter((n) => ROW.some((name) => after.fields[name][n] !== kept.fields[name]?.[n]));
    for (const name of ROW) fields[name] = changed.map((n) => after.fields[name][n]);
  }
  const before = new Set(kept.photos.map((one) => one.sha256));
  return { fields, photos: after.photos.filter((one) => !before.has(one.sha256)), position: null };
}

async function keepIt(form) {
  const kind = form.dataset.kind;
  const typed = form.querySelector('input[name="typed_place"]');
  if (typed && typed.value.trim()) {
    try { endFinding(form); placed(form, place.typed(typed.value)); } catch (error) { say(error.message); typed.focus(); return false; }
  }
  if (kind === "shore") {
    stopWalking();
    if (!typedCorner()) return false;
  }
  const draft = fieldsOf(form);
  const words = missing(form, draft);
  if (words) { say(words); return false; }
  if (!isSure(form)) return false;
  delete asked[kind];
  endFinding(form);
  hold(kind);
  await intoOutbox(kind, draft);
  if (kind === "shore") walkOver();
  const after = left(draft, fieldsOf(form));
  now.carried[kind] = Object.fromEntries(["pond", "pond_typed"].map((name) => [name, after.fields[name]?.[0]]));
  now.drafts[kind] = after;
  fill(form, after);
  return true;
}

/** Keep a form's reading; true where it is kept. A second tap meanwhile does nothing. */
export async function finish(form) {
  const kind = form.dataset.kind;
  if (now.holding.has(kind)) return false;
  now.holding.add(kind);
  try {
    const kept = await keepIt(form);
    now.holding.delete(kind);
    if (kept) await keepDraft(form);
    return kept;
  } catch (error) {
    failed(error);
    return false;
  } finally {
    now.holding.delete(kind);
  }
}
