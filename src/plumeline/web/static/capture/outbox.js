// Handing over: each item and each part of a photo by itself, as often as needed; nothing goes before its receipt has come.
import * as keep from "./keep.js";

const PART_BYTES = 524288;
const API = "/api/v1/capture";
const REQUEST_MS = 30_000;
const PART_MS = 120_000;
const IN_A_ROW = 3; // requests that did not come through, one after the other: then there is no signal
const HEADERS = { "X-Plumeline": "1" };
let busy = null;
let again = false;

function limit(ms) {
  if (AbortSignal.timeout) return AbortSignal.timeout(ms);
  const found = new AbortController(); // phones of before 2022
  setTimeout(() => found.abort(), ms);
  return found.signal;
}

// every request ends: one that stalls may not keep the next ones waiting
async function call(path, options, ms = REQUEST_MS) {
  return fetch(API + path, { ...options, signal: limit(ms), headers: { ...HEADERS, ...(options.headers || {}) }, redirect: "error" });
}

const wordsOf = async (reply) => (await reply.json().catch(() => ({}))).detail || `The server answered ${reply.status}.`;

class Stop extends Error {
  constructor(how, said = "") {
    super(how);
    this.words = said;
  }
}

const checked = (reply) => { if (reply.status === 401) throw new Stop("sign in"); return reply; };

async function photo(sha) {
  const kept = await keep.read("photos", sha);
  if (!kept || kept.refused) return;
  const asked = checked(await call(`/photos/${sha}`, { method: "GET" }));
  if (!asked.ok) throw new Error(await wordsOf(asked));
  const told = await asked.json();
  if (told.held) return;
  if (told.refused) { await keep.change("photos", sha, { refused: told.refused }); return; }
  const have = new Set(told.have);
  const count = Math.ceil(kept.data.byteLength / PART_BYTES);
  for (let n = 0; n < count; n += 1) {
    if (have.has(n)) continue;
    const body = kept.data.slice(n * PART_BYTES, (n + 1) * PART_BYTES);
    const reply = checked(await call(`/photos/${sha}/parts/${n}?size_bytes=${kept.data.byteLength}`, { method: "PUT", body, headers: { "Content-Type": "application/octet-stream" } }, PART_MS));
    if (reply.ok) continue;
    const said = await reply.json().catch(() => ({}));
    if (!said.refused && reply.status !== 413) throw new Error(said.detail || `The server answered ${reply.status}.`);
    await keep.change("photos", sha, { refused: said.refused || said.detail });
    return;
  }
}

// what the server says of an item is kept beside it
async function words(one) {
  if (one.answered) return;
  const reply = checked(await call(`/items/${one.id}`, { method: "PUT", body: one.text, headers: { "Content-Type": "application/json" } }));
  if (reply.ok || reply.status === 409) await keep.change("outbox", one.id, { answered: true, words: reply.ok ? "" : await wordsOf(reply) });
  else await keep.change("outbox", one.id, { words: await wordsOf(reply), refused: reply.status === 422 || reply.status === 413 });
}

const misses = new Map(); // how often one did not come through: it goes last then
const missed = (key) => misses.get(key) || 0;

// each by itself, so that none blocks another; true where all came through
async function each(keys, work) {
  let row = 0;
  let clean = true;
  for (const key of [...keys].sort((a, b) => missed(a) - missed(b))) {
    try {
      await work(key);
      misses.delete(key);
      row = 0;
    } catch (error) {
      if (error instanceof Stop) throw error;
      misses.set(key, missed(key) + 1);
      clean = false;
      row += 1;
      if (row === IN_A_ROW) break;
    }
  }
  return clean;
}

async function receipts(device) {
  const waiting = await keep.all("outbox");
  const oldest = waiting.map((one) => one.made_at).sort()[0] || null;
  for (let at = 0; at === 0 || at < waiting.length; at += 500) {
    const some = waiting.slice(at, at + 500);
    const reply = checked(await call("/receipts", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ device_id: device.id, device_name: device.name || null, unsent_count: waiting.length, oldest_unsent_at: oldest, device_time: new Date().toISOString(), ids: some.map((one) => one.id) }),
    }));
    if (!reply.ok) throw new Stop("not taken", await wordsOf(reply));
    const told = await reply.json();
    await keep.put("state", (Date.parse(told.server_time) - Date.now()) / 1000, "skew_s");
    for (const one of some) await received(one, told.receipts.filter((row) => row.id === one.id));
  }
}

async function received(one, rows) {
  const mine = rows.find((row) => row.sha256 === one.sha256);
  if (mine?.held) await keep.release(one.id, one.photos);
  else if (!mine && one.answered) await keep.change("outbox", one.id, { answered: false }); // the server lost it: from the beginning
}

// every text before any photo, and receipts whatever became of those
async function once(device) {
  try {
    const items = new Map((await keep.all("outbox")).filter((one) => !one.refused).map((one) => [one.id, one]));
    const texts = await each(items.keys(), (id) => words(items.get(id)));
    await receipts(device);
    const answered = (await keep.all("outbox")).filter((one) => one.answered && !one.refused);
    const photos = await each(new Set(answered.flatMap((one) => one.photos)), photo);
    await receipts(device); // a last word, so that the server knows what is left
    return [texts && photos ? "done" : "some", ""];
  } catch (error) {
    if (error instanceof Stop) return [error.message, error.words];
    misses.clear(); // the fault was no item's own: they go in their order
    return ["no server", ""];
  }
}

/** Hand over what waits. Returns how it went and the server's words: "done", "some", "sign in", "not taken" or "no server". One at a time; asked meanwhile, once more. */
export function send(device) {
  if (busy) {
    again = true;
    return busy;
  }
  busy = (async () => {
    try {
      let how;
      do {
        again = false;
        how = await once(device);
      } while (again);
      return how;
    } finally {
      busy = null;
    }
  })();
  return busy;
}

/** Return the ponds to take along, or null where there is no server. */
export async function ponds() {
  try {
    const reply = await call("/ponds", { method: "GET" });
    return reply.ok ? await reply.json() : null;
  } catch {
    return null;
  }
}

function base64(data) {
  const bytes = new Uint8Array(data);
  let text = "";
  for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(text);
}

/** Return everything that waits as one file that the office can import. */
export async function file() {
  const waiting = await keep.all("outbox");
  const photos = [];
  for (const sha of new Set(waiting.flatMap((one) => one.photos))) {
    const kept = await keep.read("photos", sha);
    if (kept) photos.push({ sha256: sha, type: kept.type, base64: base64(kept.data) });
  }
  return new Blob([JSON.stringify({ format: 1, items: waiting.map((one) => one.text), photos })], { type: "application/json" });
}
