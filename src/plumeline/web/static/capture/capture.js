// The page at the water: what is typed is kept within a second, finished readings wait in the outbox, the outbox hands over.
import { keepNow, keepSoon, nothingOpen, spared } from "./drafts.js";
import { finish } from "./finish.js";
import { addPhotos, echo, fill, findPlace, nextDepth, row, unitsShown } from "./form.js";
import * as keep from "./keep.js";
import { alone, at, failed, forms, now, say } from "./page.js";
import * as place from "./place.js";
import { uuid7 } from "./sha256.js";
import { toFile } from "./told.js";
import { askToStay, handOver, pondChoice, waiting } from "./waiting.js";
import { walkKept, walking, walkListen, walkShown } from "./walk.js";

const EVERY_MS = 60_000;

// that this page was used here before: told by the small storage, or by the server's cookie
function witnessed() {
  try { if (localStorage.getItem("plumeline canary")) return true; } catch { /* the cookie, then */ }
  return !alone && document.cookie.includes("plumeline_phone=");
}

async function canary() {
  const before = await keep.read("state", "canary");
  if (!before && witnessed()) {
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
  const offer = async () => {
    const next = found.waiting;
    if (!next || !navigator.serviceWorker.controller) return;
    // never over an open draft
    if (nothingOpen() && !(await keep.all("drafts")).length) next.postMessage("take over");
    else say("A newer version of this page waits until nothing is half typed.");
  };
  found.addEventListener("updatefound", () => found.installing?.addEventListener("statechange", offer));
  now.ready = offer; // asked again when the last draft is gone
  await offer();
  await navigator.serviceWorker.ready;
  document.documentElement.dataset.offline = "ready";
}

const shown = () => forms().find((form) => !form.hidden)?.dataset.kind;

function show(kind) {
  for (const form of forms()) form.hidden = form.dataset.kind !== kind;
  for (const button of document.querySelectorAll("#kinds button")) button.setAttribute("aria-pressed", String(button.dataset.show === kind));
  place.stayAwake(kind === "sounding" || walking());
}

async function submitted(event) {
  event.preventDefault();
  if (now.nothingKept) { failed({ name: "NothingKept" }); return; }
  if (!now.device || !(await finish(event.target))) return;
  const count = await waiting();
  say(`Kept on this phone. ${count === 1 ? "1 reading waits" : `${count} readings wait`} to be handed over.`);
  await askToStay();
  handOver();
}

function typedIn(event) {
  const form = event.target.closest("form[data-kind]");
  if (!form) return;
  echo(event.target);
  keepSoon(form);
}

function turned(button) {
  const field = button.parentElement.querySelector("input");
  field.value = field.value.startsWith("-") ? field.value.slice(1) : `-${field.value}`;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.focus();
}

// before anything is awaited: no tap may go to the browser's own form, whatever storage does
function listen() {
  for (const form of forms()) {
    form.addEventListener("submit", (event) => submitted(event).catch(failed));
    form.querySelector(".find")?.addEventListener("click", (event) => findPlace(form, event.target));
    form.querySelector('input[type="file"]')?.addEventListener("change", (event) => addPhotos(form, event.target));
  }
  document.addEventListener("input", typedIn);
  document.addEventListener("change", (event) => { if (event.target.matches("form[data-kind] select")) { unitsShown(event.target.form); keepSoon(event.target.form); } });
  document.addEventListener("click", (event) => { if (event.target.matches(".minus")) turned(event.target); });
  walkListen();
  at("more").addEventListener("click", () => { row([nextDepth()]).querySelector("input").focus(); });
  for (const button of document.querySelectorAll("#kinds button")) button.addEventListener("click", () => show(button.dataset.show));
  at("author").addEventListener("change", () => keep.put("state", at("author").value.trim(), "author").catch(failed));
  at("device").addEventListener("change", () => { now.device = { ...now.device, name: at("device").value.trim().slice(0, 60) }; keep.put("state", now.device, "device").catch(failed); });
  at("to-file").addEventListener("click", () => toFile().then(() => say("Written. It stays here too, until the office says that it holds it."), failed));
  at("send").addEventListener("click", handOver);
  addEventListener("pagehide", keepNow);
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) { keepNow(); return; }
    place.stayAwake(shown() === "sounding" || walking()); // the system takes the lock away with the page
    handOver();
  });
  addEventListener("online", handOver);
  setInterval(() => { if (!document.hidden) handOver(); }, EVERY_MS);
}

// what storage holds of this phone; throws where it is shut
async function load() {
  let device = await keep.read("state", "device");
  if (!device) {
    device = { id: uuid7(), name: "" };
    await keep.put("state", device, "device");
  }
  now.counter = (await keep.read("state", "counter")) || 0;
  await canary();
  at("author").value = (await keep.read("state", "author")) || "";
  at("device").value = device.name;
  for (const { dataset: { kind } } of forms()) {
    const draft = (await keep.read("drafts", kind)) || spared(kind);
    if (draft) now.drafts[kind] = draft;
  }
  await walkKept();
  await pondChoice();
  now.device = device;
}

function shut(error) {
  now.nothingKept = true;
  for (const { dataset: { kind } } of forms()) {
    const draft = spared(kind);
    if (draft) now.drafts[kind] = draft;
  }
  at("count").textContent = "Nothing can be kept on this phone.";
  failed(error);
}

async function start() {
  if (!place.canAsk()) for (const button of document.querySelectorAll(".find")) button.hidden = true;
  if (!globalThis.isSecureContext && !alone) at("plain").hidden = false;
  listen();
  await load().catch((error) => shut({ ...error, name: "NothingKept" }));
  for (const form of forms()) fill(form, now.drafts[form.dataset.kind]);
  walkShown();
  show(forms().find((form) => now.drafts[form.dataset.kind])?.dataset.kind || "profile");
  if (now.nothingKept) return;
  await waiting();
  if (now.counter) await askToStay();
  document.documentElement.dataset.ready = "capture";
  worker().catch(failed);
  handOver();
}

start().catch(failed);
