// Handing over: each item and each part of a photo by itself, as often as needed; nothing goes before its receipt has come.
import * as keep from "./keep.js";

const PART_BYTES = 524288;
const API = "/api/v1/capture";
const HEADERS = { "X-Plumeline": "1" };
let busy = null;
let again = false;

async function call(path, options) {
  return fetch(API + path, { ...options, headers: { ...HEADERS, ...(options.headers || {}) }, redirect: "error" });
}

const wordsOf = async (reply) => (await reply.json().catch(() => ({}))).detail || `The server answered ${reply.status}.`;

class Stop extends Error {}

async function photo(sha) {
  const kept = await keep.read("photos", sha);
  if (!kept || kept.refused) return;
  const told = await (await call(`/photos/${sha}`, { method: "GET" })).json();
  if (told.held) return;
  if (told.refused) {
    await keep.put("photos", { ...kept, refused: told.refused });
    return;
  }
  const have = new Set(told.have);
  const count = Math.ceil(kept.data.byteLength / PART_BYTES);
  for (let n = 0; n < count; n += 1) {
    if (have.has(n)) continue;
    const body = kept.data.slice(n * PART_BYTES, (n + 1) * PART_BYTES);
    const reply = await call(`/photos/${sha}/parts/${n}?size_bytes=${kept.data.byteLength}`, { method: "PUT", body, headers: { "Content-Type": "application/octet-stream" } });
    if (reply.ok) continue;
    if (reply.status === 401) throw new Stop("sign in");
    const said = await reply.json().catch(() => ({}));
    if (said.refused || reply.status === 413) await keep.put("photos", { ...kept, refused: said.refused || said.detail });
    return;
  }
}

// one item; what the server says of it is kept beside it, and never blocks another
async function item(one) {
  if (!one.answered) {
    const reply = await call(`/items/${one.id}`, { method: "PUT", body: one.text, headers: { "Content-Type": "application/json" } });
    if (reply.status === 401) throw new Stop("sign in");
    if (reply.ok || reply.status === 409) await keep.put("outbox", { ...one, answered: true, words: reply.ok ? "" : await wordsOf(reply) });
    else {
      await keep.put("outbox", { ...one, words: await wordsOf(reply), refused: reply.status === 422 || reply.status === 413 });
      return;
    }
  }
  for (const sha of one.photos) await photo(sha);
}

async function receipts(device) {
  const waiting = await keep.all("outbox");
  const oldest = waiting.map((one) => one.made_at).sort()[0] || null;
  for (let at = 0; at === 0 || at < waiting.length; at += 500) {
    const some = waiting.slice(at, at + 500);
    const reply = await call("/receipts", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ device_id: device.id, device_name: device.name || null, unsent_count: waiting.length, oldest_unsent_at: oldest, device_time: new Date().toISOString(), ids: some.map((one) => one.id) }),
    });
    if (reply.status === 401) throw new Stop("sign in");
    if (!reply.ok) return;
    const told = await reply.json();
    await keep.put("state", (Date.parse(told.server_time) - Date.now()) / 1000, "skew_s");
    for (const one of some) await received(one, told.receipts.filter((row) => row.id === one.id), waiting);
  }
}

async function received(one, rows, waiting) {
  const mine = rows.find((row) => row.sha256 === one.sha256);
  if (!mine) {
    if (one.answered) await keep.put("outbox", { ...one, answered: false }); // the server lost it: from the beginning
    return;
  }
  if (!mine.held) return;
  const needed = new Set(waiting.filter((other) => other.id !== one.id).flatMap((other) => other.photos));
  await keep.handedOver(one.id, one.photos.filter((sha) => !needed.has(sha)));
}

async function once(device) {
  try {
    for (const one of await keep.all("outbox")) if (!one.refused) await item(one);
    await receipts(device);
    await receipts(device); // a last word, so that the server knows what is left
    return "done";
  } catch (error) {
    return error instanceof Stop ? error.message : "no server";
  }
}

/** Hand over what waits. Returns how it went: "done", "sign in" or "no server". One at a time; asked meanwhile, once more. */
export function send(device) {
  if (busy) {
    again = true;
    return busy;
  }
  busy = (async () => {
    let how;
    do {
      again = false;
      how = await once(device);
    } while (again);
    busy = null;
    return how;
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
