// Drafts: what is typed is kept within a second of steady typing too, and when the page is hidden.
import * as keep from "./keep.js";
import { at, failed, forms, now } from "./page.js";

const HELD_MS = 300;
const LONGEST_MS = 700;
const SPARE = "plumeline draft "; // in the browser's small storage, where the large one is shut
const timers = {};

export function fieldsOf(form) {
  const found = {};
  for (const field of form.querySelectorAll("input[name], select[name], textarea[name]")) {
    if (field.type !== "file") (found[field.name] ??= []).push(field.type === "checkbox" ? String(field.checked) : field.value);
  }
  const kind = form.dataset.kind;
  return { fields: found, photos: now.drafts[kind]?.photos || [], position: now.places[kind] || null, walked_count: kind === "shore" ? now.walk.length : 0 };
}

// units and ticks are no draft, nor what went on from the reading before
export function isEmpty(draft, kind) {
  if (draft.photos.length || draft.position || draft.walked_count) return false;
  const before = now.carried[kind] || {};
  return Object.entries(draft.fields).every(([name, values]) => /^(unit_.*|keep_place)$/.test(name) || values.every((value) => !value.trim() || value === before[name]));
}

export const nothingOpen = () => forms().every((form) => isEmpty(fieldsOf(form), form.dataset.kind));

function spare(kind, draft) {
  try {
    if (draft) localStorage.setItem(SPARE + kind, JSON.stringify({ ...draft, photos: [] }));
    else localStorage.removeItem(SPARE + kind);
  } catch { /* shut as well: the words in `trouble` say that nothing is kept */ }
}

/** Return the draft that the small storage holds, or null. */
export function spared(kind) {
  try { return JSON.parse(localStorage.getItem(SPARE + kind)); } catch { return null; }
}

export async function keepDraft(form) {
  const kind = form.dataset.kind;
  clearTimeout(timers[kind]?.timer);
  delete timers[kind];
  const draft = fieldsOf(form);
  const empty = isEmpty(draft, kind);
  now.drafts[kind] = draft;
  try {
    if (now.nothingKept) { spare(kind, empty ? null : draft); return; }
    if (empty) await keep.drop("drafts", kind);
    else await keep.put("drafts", draft, kind);
    spare(kind, null);
    at("trouble").hidden = true;
    document.documentElement.dataset.keptAt = String(Date.now());
    if (empty) now.ready?.();
  } catch (error) {
    if (error?.name === "NothingKept") spare(kind, empty ? null : draft);
    failed(error);
  }
}

/** Keep a form's draft soon: after a pause, and at the latest LONGEST_MS after the first key. */
export function keepSoon(form) {
  const kind = form.dataset.kind;
  if (now.holding.has(kind)) return; // what was typed meanwhile is kept when the reading is
  const one = (timers[kind] ??= { since: Date.now() });
  clearTimeout(one.timer);
  one.timer = setTimeout(keepDraft, Math.max(0, Math.min(HELD_MS, one.since + LONGEST_MS - Date.now())), form);
}

export function keepNow() {
  for (const form of forms()) if (timers[form.dataset.kind] || !isEmpty(fieldsOf(form), form.dataset.kind)) keepDraft(form);
}

/** Forget the timer of a form whose reading is being kept. */
export function hold(kind) {
  clearTimeout(timers[kind]?.timer);
  delete timers[kind];
}
