// What waits on the phone, how old it is, and how handing over went.
import * as keep from "./keep.js";
import { ponds as pulled, send } from "./outbox.js";
import { alone, at, failed, now } from "./page.js";
import { ago, allTold } from "./told.js";

const HOUR_MS = 3_600_000;

/** Show what waits; returns how many. */
export async function waiting() {
  const all = await allTold();
  const found = all.map(({ one }) => one);
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
  at("list").replaceChildren(...all.map(({ one, words: told }) => {
    const line = document.createElement("li");
    const words = document.createElement("span");
    words.textContent = `${told}${one.words ? `: ${one.words}` : one.answered ? ": on its way" : ""}`;
    line.append(words);
    const refused = one.photos.map((sha) => photos.get(sha)?.refused).find(Boolean);
    if (refused || one.refused) {
      if (refused) words.textContent += ` The photo can't be taken: ${refused}`;
      const away = document.createElement("button");
      away.type = "button";
      away.textContent = "Drop it from this phone";
      away.addEventListener("click", async () => {
        if (!confirm("It is not at the office. Drop it for good?")) return;
        await keep.release(one.id, one.photos).catch(failed);
        waiting();
      });
      line.append(away);
    }
    return line;
  }));
  at("to-file").hidden = !found.length;
  await room();
  return found.length;
}

async function room() {
  if (!navigator.storage?.estimate) return;
  const { usage, quota } = await navigator.storage.estimate();
  const share = quota ? usage / quota : 0;
  at("room").textContent = `Kept here: ${(usage / 1e6).toFixed(1)} MB of ${(quota / 1e6).toFixed(0)} MB that the browser allows.${share > 0.8 ? " Nearly full: hand over or write to a file, and make room." : ""}`;
  at("room").className = share > 0.8 ? "amber" : "";
}

export async function askToStay() {
  if (!navigator.storage?.persist) { at("stay").textContent = "This browser does not say whether it keeps readings for good: hand over soon."; return; }
  const stays = (await navigator.storage.persisted()) || (await navigator.storage.persist());
  at("stay").textContent = stays ? "The browser keeps readings until they are handed over." : "The browser may clear readings when the phone is short of room: put this page on the home screen, and hand over soon.";
}

const SIGNAL = {
  done: () => "The office was reached just now.",
  some: () => "The office was reached just now, but not everything arrived: it stays on this phone and is sent again.",
  "sign in": () => "Sign in to hand over; everything stays on this phone.",
  "no server": () => "The office is not in reach; everything stays on this phone.",
  "not taken": (words) => `The office answered, but took nothing over: ${words} Everything stays on this phone.`,
};

/** Hand over what waits, where there is a server, and say how it went. */
export async function handOver() {
  if (alone || now.nothingKept) return;
  try {
    const [how, words] = await send(now.device);
    at("signal").textContent = SIGNAL[how](words);
    at("sign-in").hidden = how !== "sign in";
    document.documentElement.dataset.sent = how;
    if (how === "done" || how === "some") {
      await keep.put("state", Date.now(), "reached_at");
      const found = await pulled();
      if (found) { await keep.put("state", found, "ponds"); await pondChoice(); }
    }
    await waiting();
  } catch (error) {
    failed(error);
  }
}

export async function pondChoice() {
  const found = await keep.read("state", "ponds");
  const fresh = found && Date.parse(found.expires_at) > Date.now() ? found.ponds : [];
  if (found && !fresh.length) await keep.drop("state", "ponds");
  for (const select of document.querySelectorAll('select[name="pond"]')) {
    const before = select.value || now.drafts[select.closest("form").dataset.kind]?.fields.pond?.[0] || "";
    select.replaceChildren(new Option("another, or not known yet", ""), ...fresh.map((one) => new Option(one.name, one.id)));
    if ([...select.options].some((one) => one.value === before)) select.value = before;
  }
}
