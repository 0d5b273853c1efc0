// The page at the water: what is typed is kept within a second, finished readings wait in the outbox, the outbox hands over.
import * as keep from "./keep.js";
import { file, ponds as pulled, send } from "./outbox.js";
import * as place from "./place.js";
import { sha256, uuid7 } from "./sha256.js";
import { parse } from "./units.js";

const HELD_MS = 300;
const EVERY_MS = 60_000;
const HOUR_MS = 3_600_000;
const MOST_PHOTO_BYTES = 20 * 1024 * 1024;
const at = (id) => document.getElementById(id);
const alone = document.documentElement.dataset.alone === "yes"; // a field sheet: no server
const SHOWN = { m: ["m", "length"], degC: ["°C", "temperature"], "mg/L": ["mg/L", "concentration"], kPa: ["kPa", "pressure"] };
const SIZE = { length: 1, temperature: 1, concentration: 1, pressure: 1000 };
let device = null;
let drafts = {};
let counter = 0;
let timer = null;
let place_of = {};

const forms = () => [...document.querySelectorAll("form[data-kind]")];
const say = (words) => { at("said").textContent = words; };

function failed(error) {
  const full = error && error.name === "QuotaExceededError";
  at("trouble").hidden = false;
  at("trouble").textContent = full
    ? "This phone's storage is full: what you type stays on the screen, but is not kept yet. Write the readings to a file or hand them over, make room, then type one letter more."
    : `Not kept: ${error.message || error}. What you typed is still on the screen.`;
}

// --- drafts
function fieldsOf(form) {
  const found = {};
  for (const field of form.querySelectorAll("input[name], select[name], textarea[name]")) if (field.type !== "file") (found[field.name] ??= []).push(field.type === "checkbox" ? String(field.checked) : field.value);
  return { fields: found, photos: drafts[form.dataset.kind]?.photos || [] };
}

const isEmpty = (draft) => !draft.photos.length && Object.entries(draft.fields).every(([name, values]) => /^(pond|unit|keep_place)/.test(name) || values.every((value) => !value.trim()));

async function keepDraft(form) {
  const kind = form.dataset.kind;
  const draft = { ...fieldsOf(form), position: place_of[kind] || null };
  drafts[kind] = draft;
  try {
    if (isEmpty(draft)) await keep.drop("drafts", kind);
    else await keep.put("drafts", draft, kind);
    at("trouble").hidden = true;
    document.documentElement.dataset.keptAt = String(Date.now());
  } catch (error) {
    failed(error);
  }
}

function typedIn(event) {
  const form = event.target.closest("form[data-kind]");
  if (!form) return;
  echo(event.target);
  clearTimeout(timer);
  timer = setTimeout(() => { timer = null; keepDraft(form); }, HELD_MS);
}

function keepNow() {
  clearTimeout(timer);
  for (const form of forms()) if (!isEmpty(fieldsOf(form))) keepDraft(form);
}

function echo(field) {
  const kind = field.dataset.unit;
  const told = field.parentElement.querySelector(".echo");
  if (!kind || !told) return;
  told.className = "echo";
  if (!field.value.trim()) { told.textContent = ""; return; }
  const unit = field.dataset.spelling || field.closest("form").querySelector(`select[name="unit_${field.dataset.of}"]`)?.value;
  try {
    const size = parse(field.value, kind, unit);
    const [label] = Object.values(SHOWN).find((one) => one[1] === kind);
    const plain = /[A-Za-z'"°]/.test(field.value) ? field.value.trim() : `${field.value.trim()} ${unit}`;
    const words = `${Number((size / SIZE[kind]).toPrecision(4))} ${label}`;
    told.textContent = plain === words ? "" : `${plain} = ${words}`;
  } catch (error) {
    told.textContent = `${error.message} It is kept as typed.`;
    told.className = "echo odd";
  }
}

// --- rows of a profile
function row(values = []) {
  const found = at("row").content.firstElementChild.cloneNode(true);
  const fields = found.querySelectorAll("input");
  const number = at("rows").children.length + 1;
  fields.forEach((field, n) => {
    field.value = values[n] || "";
    field.setAttribute("aria-label", `${field.dataset.label}, depth no. ${number}`);
  });
  at("rows").append(found);
  fields.forEach(echo);
  return found;
}

// the next depth goes on as the last two did
function nextDepth() {
  const typed = [...document.querySelectorAll('#rows input[name="depth"]')].map((field) => field.value.trim()).filter(Boolean);
  const [before, last] = typed.slice(-2).map((text) => (/^\d+(\.\d+)?$/.test(text) ? Number(text) : NaN));
  const step = typed.length > 1 ? last - before : NaN;
  return step > 0 ? String(Number((last + step).toFixed(3))) : "";
}

// --- filling a form from its draft
function fill(form, draft) {
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
    else field.value = value || "";
    echo(field);
  }
  placed(form, draft?.position || null);
  pictures(form);
}

// --- places
function placed(form, found) {
  place_of[form.dataset.kind] = found;
  const told = form.querySelector(".placed");
  if (told) told.textContent = found ? `${found.latitude_deg.toFixed(5)}, ${found.longitude_deg.toFixed(5)}${found.accuracy_m === null ? ", as typed" : `, good to ${found.accuracy_m} m`}` : "no place yet";
}

async function findPlace(form, button) {
  if (button.ending) { button.ending.abort(); return; }
  button.ending = new AbortController();
  button.textContent = "That will do";
  try {
    placed(form, await place.ask((better) => placed(form, better), button.ending.signal));
  } catch (error) {
    say(error.message);
  }
  button.ending = null;
  button.textContent = "Find the place";
  await keepDraft(form);
}

// --- photos
async function addPhotos(form, files) {
  for (const one of files) {
    if (one.size > MOST_PHOTO_BYTES) { say(`${one.name} is larger than 20 MB and was not taken.`); continue; }
    try {
      const data = await one.arrayBuffer(); // as bytes: files themselves are lost on some phones
      const sha = await sha256(new Uint8Array(data));
      if (!(await keep.read("photos", sha))) await keep.put("photos", { sha256: sha, type: one.type || "image/jpeg", data });
      const draft = { ...fieldsOf(form), position: place_of[form.dataset.kind] || null };
      if (!draft.photos.some((photo) => photo.sha256 === sha)) draft.photos = [...draft.photos, { sha256: sha, size_bytes: data.byteLength, type: one.type || "image/jpeg", name: one.name }];
      drafts[form.dataset.kind] = draft;
      await keep.put("drafts", draft, form.dataset.kind);
    } catch (error) {
      failed(error);
    }
  }
  pictures(form);
}

function pictures(form) {
  const list = form.querySelector(".pictures");
  if (!list) return;
  list.replaceChildren(...(drafts[form.dataset.kind]?.photos || []).map((photo) => {
    const line = document.createElement("li");
    line.textContent = `${photo.name || "photo"}, ${(photo.size_bytes / 1e6).toFixed(1)} MB`;
    return line;
  }));
}

// --- an item made of a form
const text = (draft, name) => (draft.fields[name]?.[0] || "").trim();
const BODIES = {
  profile: (draft) => ({
    place: text(draft, "place"),
    secchi: text(draft, "secchi"),
    rows: draft.fields.depth.map((depth, n) => ({ depth: depth.trim(), temperature: draft.fields.temperature[n].trim(), oxygen: draft.fields.oxygen[n].trim(), note: draft.fields.note[n].trim() })).filter((one) => Object.values(one).some(Boolean)),
    units: { depth: text(draft, "unit_depth"), temperature: text(draft, "unit_temperature"), oxygen: "mg/L" },
  }),
  gauge: (draft) => ({ what: text(draft, "what"), pressure: text(draft, "pressure"), unit: text(draft, "unit_pressure"), flow: text(draft, "flow") || null, flow_unit: text(draft, "flow") ? "scfm" : null }),
  sounding: (draft) => ({ depth: text(draft, "depth"), unit: text(draft, "unit_depth"), muck: text(draft, "muck") || null }),
  note: (draft) => ({ text: text(draft, "text") }),
  photo: (draft) => ({ caption: text(draft, "caption") }),
};
const NEEDED = { profile: ["depth", "a depth"], gauge: ["pressure", "the pressure"], sounding: ["depth", "the depth"], note: ["text", "some words"] };

function offset(now) {
  const min = -now.getTimezoneOffset();
  const two = (x) => String(Math.abs(x)).padStart(2, "0");
  const local = new Date(now.getTime() + min * 60_000).toISOString().slice(0, 23);
  return `${local}${min < 0 ? "-" : "+"}${two(Math.trunc(min / 60))}:${two(min % 60)}`;
}

async function finish(form) {
  const kind = form.dataset.kind;
  const typedPlace = form.querySelector('input[name="typed_place"]');
  if (typedPlace && typedPlace.value.trim()) {
    try { placed(form, place.typed(typedPlace.value)); } catch (error) { say(error.message); typedPlace.focus(); return; }
  }
  const draft = { ...fieldsOf(form), position: place_of[kind] || null };
  const [name, called] = NEEDED[kind] || [];
  if (name && !(draft.fields[name] || []).some((value) => value.trim())) { say(`Type ${called} first.`); return; }
  if (kind === "photo" && !draft.photos.length) { say("Take or choose a photo first."); return; }
  const now = new Date();
  const pond = text(draft, "pond");
  const known = (await keep.read("state", "ponds"))?.ponds?.find((one) => one.id === pond);
  const item = {
    format: 1, id: uuid7(now.getTime()), device_id: device.id, device_name: device.name || "phone", author: at("author").value.trim().slice(0, 60),
    pond_id: known ? pond : null, pond_name_typed: known ? null : text(draft, "pond_typed") || null, kind, made_at: offset(now),
    time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC", gps_at: draft.position?.at || null,
    clock_skew_s: (await keep.read("state", "skew_s")) ?? null, counter: counter + 1, supersedes: null, base_number: known?.number ?? null,
    body: BODIES[kind](draft),
    photos: draft.photos.map(({ sha256: sha, size_bytes, type }) => ({ sha256: sha, size_bytes, type, keep_place: text(draft, "keep_place") === "true" })),
  };
  if (kind !== "note") item.body.position = draft.position && { latitude_deg: draft.position.latitude_deg, longitude_deg: draft.position.longitude_deg, accuracy_m: draft.position.accuracy_m, how: draft.position.how };
  const written = JSON.stringify(item);
  const bytes = new TextEncoder().encode(written);
  try {
    await keep.finish({ id: item.id, text: written, sha256: await sha256(bytes), kind, made_at: item.made_at, size_bytes: bytes.length + draft.photos.reduce((sum, one) => sum + one.size_bytes, 0), photos: draft.photos.map((one) => one.sha256), answered: false, words: "" }, kind, counter + 1);
  } catch (error) {
    failed(error);
    return;
  }
  counter += 1;
  const again = { fields: Object.fromEntries(Object.entries(draft.fields).filter(([key]) => /^(pond|unit|what$|place$)/.test(key))), photos: [] };
  delete drafts[kind];
  fill(form, again);
  say("Kept on this phone.");
  await askToStay();
  await waiting();
  handOver();
}

// --- what waits
const ago = (ms) => (ms < HOUR_MS ? `${Math.max(1, Math.round(ms / 60_000))} min` : ms < 48 * HOUR_MS ? `${Math.round(ms / HOUR_MS)} h` : `${Math.round(ms / (24 * HOUR_MS))} days`);
const NAMES = { profile: "profile", gauge: "gauge", sounding: "sounding", note: "note", photo: "photo" };

async function waiting() {
  const found = (await keep.all("outbox")).sort((a, b) => a.made_at.localeCompare(b.made_at));
  const box = at("waiting");
  box.className = "state";
  if (!found.length) at("count").textContent = "Nothing waits on this phone.";
  else {
    const age = Date.now() - Date.parse(found[0].made_at);
    at("count").textContent = `${found.length} reading${found.length === 1 ? "" : "s"} not yet handed over, the oldest ${ago(age)} old.`;
    if (age > 120 * HOUR_MS) { box.className = "state red"; at("count").textContent += " That is long: hand them over today, or write them to a file."; }
    else if (age > 24 * HOUR_MS) { box.className = "state amber"; at("count").textContent += " Find a signal, or write them to a file."; }
  }
  const photos = new Map((await keep.all("photos")).map((one) => [one.sha256, one]));
  at("list").replaceChildren(...found.map((one) => {
    const line = document.createElement("li");
    const words = document.createElement("span");
    words.textContent = `${NAMES[one.kind]}, ${ago(Date.now() - Date.parse(one.made_at))} old, ${(one.size_bytes / 1000).toFixed(1)} kB${one.words ? `: ${one.words}` : one.answered ? ": on its way" : ""}`;
    line.append(words);
    const refused = one.photos.map((sha) => photos.get(sha)?.refused).find(Boolean);
    if (refused || one.refused) {
      if (refused) words.textContent += ` The photo can't be taken: ${refused}`;
      const away = document.createElement("button");
      away.type = "button";
      away.textContent = "Drop it from this phone";
      away.addEventListener("click", async () => {
        if (!confirm("It is not at the office. Drop it for good?")) return;
        await keep.handedOver(one.id, one.photos);
        waiting();
      });
      line.append(away);
    }
    return line;
  }));
  at("to-file").hidden = !found.length;
  await room();
}

async function room() {
  if (!navigator.storage?.estimate) return;
  const { usage, quota } = await navigator.storage.estimate();
  const share = quota ? usage / quota : 0;
  at("room").textContent = `Kept here: ${(usage / 1e6).toFixed(1)} MB of ${(quota / 1e6).toFixed(0)} MB that the browser allows.${share > 0.8 ? " Nearly full: hand over or write to a file, and make room." : ""}`;
  at("room").className = share > 0.8 ? "amber" : "";
}

async function askToStay() {
  if (!navigator.storage?.persist) { at("stay").textContent = "This browser does not say whether it keeps readings for good: hand over soon."; return; }
  const stays = (await navigator.storage.persisted()) || (await navigator.storage.persist());
  at("stay").textContent = stays ? "The browser keeps readings until they are handed over." : "The browser may clear readings when the phone is short of room: put this page on the home screen, and hand over soon.";
}

async function handOver() {
  if (alone) return;
  const how = await send(device);
  at("signal").textContent = { done: "The office was reached just now.", "sign in": "Sign in to hand over; everything stays on this phone.", "no server": "The office is not in reach; everything stays on this phone." }[how];
  at("sign-in").hidden = how !== "sign in";
  document.documentElement.dataset.sent = how;
  if (how === "done") {
    await keep.put("state", Date.now(), "reached_at");
    const found = await pulled();
    if (found) { await keep.put("state", found, "ponds"); await pondChoice(); }
  }
  await waiting();
}

async function pondChoice() {
  const found = await keep.read("state", "ponds");
  const fresh = found && Date.parse(found.expires_at) > Date.now() ? found.ponds : [];
  if (found && !fresh.length) await keep.drop("state", "ponds");
  for (const select of document.querySelectorAll('select[name="pond"]')) {
    const before = select.value || drafts[select.closest("form").dataset.kind]?.fields.pond?.[0] || "";
    select.replaceChildren(new Option("another, or not known yet", ""), ...fresh.map((one) => new Option(one.name, one.id)));
    if ([...select.options].some((one) => one.value === before)) select.value = before;
  }
}

async function canary() {
  const before = await keep.read("state", "canary");
  if (!before && localStorage.getItem("plumeline canary")) {
    at("trouble").hidden = false;
    at("trouble").textContent = "This browser's storage was cleared since this page was last used: readings that were not handed over by then are gone from this phone. The office shows what it has under From the field.";
  }
  const stamp = before || new Date().toISOString();
  await keep.put("state", stamp, "canary");
  try { localStorage.setItem("plumeline canary", stamp); } catch { /* no second witness, then */ }
}

async function worker() {
  if (alone || !("serviceWorker" in navigator)) return;
  const found = await navigator.serviceWorker.register("/capture/worker.js", { scope: "/capture" }).catch(() => null);
  if (!found) return;
  const offer = () => {
    const next = found.waiting;
    if (!next || !navigator.serviceWorker.controller) return;
    // never over an open draft
    if (forms().every((form) => isEmpty(fieldsOf(form)))) next.postMessage("take over");
    else say("A newer version of this page waits until nothing is half typed.");
  };
  found.addEventListener("updatefound", () => found.installing?.addEventListener("statechange", offer));
  offer();
  await navigator.serviceWorker.ready;
  document.documentElement.dataset.offline = "ready";
}

function show(kind) {
  for (const form of forms()) form.hidden = form.dataset.kind !== kind;
  for (const button of document.querySelectorAll("#kinds button")) button.setAttribute("aria-pressed", String(button.dataset.show === kind));
  place.stayAwake(kind === "sounding");
}

async function start() {
  if (!place.canAsk()) for (const button of document.querySelectorAll(".find")) button.hidden = true;
  if (!globalThis.isSecureContext && !alone) at("plain").hidden = false;
  device = await keep.read("state", "device");
  if (!device) {
    device = { id: uuid7(), name: "" };
    await keep.put("state", device, "device");
  }
  counter = (await keep.read("state", "counter")) || 0;
  await canary();
  at("author").value = (await keep.read("state", "author")) || "";
  at("device").value = device.name;
  for (const form of forms()) {
    const draft = await keep.read("drafts", form.dataset.kind);
    if (draft) drafts[form.dataset.kind] = draft;
  }
  await pondChoice();
  for (const form of forms()) {
    fill(form, drafts[form.dataset.kind]);
    form.addEventListener("submit", (event) => { event.preventDefault(); finish(form); });
    form.querySelector(".find")?.addEventListener("click", (event) => findPlace(form, event.target));
    form.querySelector('input[type="file"]')?.addEventListener("change", (event) => addPhotos(form, [...event.target.files]));
  }
  document.addEventListener("input", typedIn);
  document.addEventListener("change", (event) => { if (event.target.matches("form[data-kind] select")) event.target.closest("form").querySelectorAll("[data-unit]").forEach(echo); });
  at("more").addEventListener("click", () => { row([nextDepth()]).querySelector("input").focus(); });
  for (const button of document.querySelectorAll("#kinds button")) button.addEventListener("click", () => show(button.dataset.show));
  for (const button of document.querySelectorAll(".minus")) button.addEventListener("click", () => {
    const field = button.parentElement.querySelector("input");
    field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  at("author").addEventListener("change", () => keep.put("state", at("author").value.trim(), "author").catch(failed));
  at("device").addEventListener("change", () => { device = { ...device, name: at("device").value.trim().slice(0, 60) }; keep.put("state", device, "device").catch(failed); });
  at("to-file").addEventListener("click", async () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(await file());
    link.download = `readings-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    say("Written. It stays here too, until the office says that it holds it.");
  });
  at("send").addEventListener("click", handOver);
  addEventListener("pagehide", keepNow);
  document.addEventListener("visibilitychange", () => { if (document.hidden) keepNow(); else handOver(); });
  addEventListener("online", handOver);
  setInterval(() => { if (!document.hidden) handOver(); }, EVERY_MS);
  show(forms().find((form) => drafts[form.dataset.kind])?.dataset.kind || "profile");
  await waiting();
  if (await keep.read("state", "counter")) await askToStay();
  document.documentElement.dataset.ready = "capture";
  worker();
  handOver();
}

start().catch(failed);
