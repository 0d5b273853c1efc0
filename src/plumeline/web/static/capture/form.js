// A form in the hand: what is understood beside each value, rows of a profile, places, photos.
import { fieldsOf, keepDraft } from "./drafts.js";
import * as keep from "./keep.js";
import { at, failed, now, say } from "./page.js";
import * as place from "./place.js";
import { sha256 } from "./sha256.js";
import { parse } from "./units.js";

const MOST_PHOTO_BYTES = 20 * 1024 * 1024;
const SHOWN_BY = { length: "m", temperature: "°C", concentration: "mg/L", pressure: "kPa" };
const SIZE = { length: 1, temperature: 1, concentration: 1, pressure: 1000 };

const unitOf = (field) => field.dataset.spelling || field.closest("form").querySelector(`select[name="unit_${field.dataset.of}"]`)?.value;

// outside of these no water and no gauge reads: metres, °C, mg/L, Pa, scfm
const CAN_BE = { length: [0, 200, "A depth lies between 0 and 200 m (656 ft)."], temperature: [-2, 45, "Water lies between -2 and 45 °C (28 and 113 °F)."], concentration: [0, 40, "Oxygen lies between 0 and 40 mg/L."], pressure: [0, 700_000, "A gauge shows between 0 and 700 kPa (101 psi)."], air: [0, 500, "Air in one line lies between 0 and 500 scfm."] };

// what is typed in the first unit of its kind; flows of air are read at the office where they carry a unit of their own
function sizeOf(field) {
  const kind = field.dataset.unit;
  if (kind !== "air") return parse(field.value, kind, unitOf(field));
  const [, size, unit] = /^(-?\d*\.?\d+)\s*(\S*)/.exec(field.value.trim()) || [];
  if (size === undefined) throw new Error(`'${field.value.trim()}' does not start with a number.`);
  return unit && unit.toLowerCase() !== "scfm" ? Math.min(Number(size), 0) : Number(size);
}

/** The words for what can't be read or can't be, or "". */
export function oddWords(field) {
  const kind = field.dataset.unit;
  if (!kind || !field.value.trim()) return "";
  try {
    const size = sizeOf(field);
    const [low, high, said] = CAN_BE[kind];
    return size < low || size > high ? `${said} Is '${field.value.trim()}' right?` : "";
  } catch (error) {
    return error.message;
  }
}

/** Every field of a form that holds what can't be, with its name and the words. */
export function oddOnes(form) {
  const named = (field) => field.getAttribute("aria-label") || form.querySelector(`label[for="${field.id}"]`)?.textContent || field.name;
  return [...form.querySelectorAll("input[data-unit]")].map((field) => ({ field, words: oddWords(field), name: named(field) })).filter((one) => one.words);
}

export function echo(field) {
  const kind = field.dataset.unit;
  const told = field.closest("div")?.querySelector(".echo");
  if (!kind || !told) return;
  const words = oddWords(field);
  told.className = words ? "echo odd" : "echo";
  told.textContent = words ? `${words} Keep asks once more.` : "";
  const shown = SHOWN_BY[kind];
  if (words || !shown || !field.value.trim()) return;
  const unit = unitOf(field);
  const plain = /[A-Za-z'"°]/.test(field.value) ? field.value.trim() : `${field.value.trim()} ${unit}`;
  const understood = `${Number((sizeOf(field) / SIZE[kind]).toPrecision(4))} ${shown}`;
  told.textContent = plain === understood ? "" : `${plain} = ${understood}`;
}

/** Show each field's unit as it is chosen, beside it and in its label, and what is understood by it. */
export function unitsShown(form) {
  for (const field of form.querySelectorAll("[data-unit]")) {
    const unit = unitOf(field).replace("deg", "°");
    const head = field.closest("div").querySelector("small, label");
    head.textContent = `${field.dataset.label || head.dataset.label}, ${unit}`;
    const suffix = field.parentElement.querySelector(".unit");
    if (suffix) suffix.textContent = unit;
    if (field.dataset.row) field.setAttribute("aria-label", `${field.dataset.called || field.dataset.label} in ${unit}, depth no. ${field.dataset.row}`);
    echo(field);
  }
}

export function row(values = []) {
  const found = at("row").content.firstElementChild.cloneNode(true);
  const fields = found.querySelectorAll("input");
  const number = at("rows").children.length + 1;
  fields.forEach((field, n) => {
    field.value = values[n] || "";
    if (field.dataset.unit) field.dataset.row = number;
    else field.setAttribute("aria-label", `${field.dataset.called}, depth no. ${number}`);
  });
  found.querySelector(".minus").setAttribute("aria-label", `± in row ${number}`);
  at("rows").append(found);
  unitsShown(found.closest("form"));
  return found;
}

// the next depth goes on as the last two did
export function nextDepth() {
  const typed = [...document.querySelectorAll('#rows input[name="depth"]')].map((field) => field.value.trim()).filter(Boolean);
  const [before, last] = typed.slice(-2).map((text) => (/^\d+(\.\d+)?$/.test(text) ? Number(text) : NaN));
  const step = typed.length > 1 ? last - before : NaN;
  return step > 0 ? String(Number((last + step).toFixed(3))) : "";
}

export function fill(form, draft) {
  if (form.dataset.kind === "profile") {
    at("rows").replaceChildren();
    const count = Math.max(1, (draft?.fields.depth || []).length);
    for (let n = 0; n < count; n += 1) row(["depth", "temperature", "oxygen", "note"].map((name) => draft?.fields[name]?.[n]));
  }
  for (const field of form.querySelectorAll("input[name], select[name], textarea[name]")) {
    if (field.closest("#rows") || field.type === "file") continue;
    const value = draft?.fields[field.name]?.[0];
    if (field.type === "checkbox") field.checked = value === "true";
    else if (field.tagName === "SELECT") { if (value !== undefined && [...field.options].some((one) => one.value === value)) field.value = value; }
    else if (field.value !== (value || "")) field.value = value || "";
  }
  unitsShown(form);
  placed(form, draft?.position || null);
  pictures(form);
}

export function placed(form, found) {
  now.places[form.dataset.kind] = found;
  const told = form.querySelector(".placed");
  if (told) told.textContent = found ? `${found.latitude_deg.toFixed(5)}, ${found.longitude_deg.toFixed(5)}${found.accuracy_m === null ? ", as typed" : `, good to ${found.accuracy_m} m`}` : "no place yet";
}

export async function findPlace(form, button) {
  if (button.ending) { button.ending.abort(); return; }
  const ending = (button.ending = new AbortController());
  button.textContent = "That will do";
  try {
    const found = await place.ask((better) => placed(form, better), ending.signal);
    if (!ending.left) placed(form, found);
  } catch (error) {
    if (!ending.left) say(error.message);
  }
  if (ending.left) return;
  button.ending = null;
  button.textContent = "Find the place";
  await keepDraft(form);
}

/** End the asking of a form whose reading is kept: its place is that reading's, not the next one's. */
export function endFinding(form) {
  const button = form.querySelector(".find");
  if (!button?.ending) return;
  button.ending.left = true;
  button.ending.abort();
  button.ending = null;
  button.textContent = "Find the place";
}

export async function addPhotos(form, input) {
  const kind = form.dataset.kind;
  const files = [...input.files];
  for (const one of files) {
    if (one.size > MOST_PHOTO_BYTES) { say(`${one.name} is larger than 20 MB and was not taken.`); continue; }
    try {
      const data = await one.arrayBuffer(); // as bytes: files themselves are lost on some phones
      const sha = await sha256(new Uint8Array(data));
      const type = one.type || "image/jpeg";
      const draft = fieldsOf(form);
      if (!draft.photos.some((photo) => photo.sha256 === sha)) draft.photos = [...draft.photos, { sha256: sha, size_bytes: data.byteLength, type, name: one.name }];
      await keep.addPhoto({ sha256: sha, type, data }, draft, kind);
      now.drafts[kind] = { ...draft, ...fieldsOf(form), photos: draft.photos };
    } catch (error) {
      failed(error);
    }
  }
  input.value = ""; // the same photo may be chosen again
  pictures(form);
}

async function takeOut(form, sha) {
  const kind = form.dataset.kind;
  const draft = fieldsOf(form);
  draft.photos = draft.photos.filter((photo) => photo.sha256 !== sha);
  try {
    await keep.takeOut(sha, draft, kind);
    now.drafts[kind] = draft;
  } catch (error) {
    failed(error);
  }
  pictures(form);
  await keepDraft(form);
}

function pictures(form) {
  const list = form.querySelector(".pictures");
  if (!list) return;
  list.replaceChildren(...(now.drafts[form.dataset.kind]?.photos || []).map((photo) => {
    const line = document.createElement("li");
    const away = document.createElement("button");
    away.type = "button";
    away.textContent = "Take it out";
    away.setAttribute("aria-label", `Take it out: ${photo.name || "photo"}`);
    away.addEventListener("click", () => takeOut(form, photo.sha256));
    line.append(`${photo.name || "photo"}, ${(photo.size_bytes / 1e6).toFixed(1)} MB `, away);
    return line;
  }));
}
