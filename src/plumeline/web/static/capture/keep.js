// What the phone keeps: drafts, items not handed over yet, photos, and what it knows of itself. Every write waits for the medium.
const NAME = "plumeline capture";
const STEPS = [
  (db) => {
    db.createObjectStore("drafts");
    db.createObjectStore("outbox", { keyPath: "id" });
    db.createObjectStore("photos", { keyPath: "sha256" });
    db.createObjectStore("state");
  },
];
const LOST = new Set(["InvalidStateError", "AbortError", "UnknownError"]); // what a connection that was taken away says
/** Counted for the tests: as many strict transactions as writing ones. */
export const counted = { writes: 0, strict: 0 };
let opened = null;

function shut(error) {
  opened = null;
  return Object.assign(new Error(`This browser does not let the page keep anything (${error?.message || "no storage"}).`), { name: "NothingKept" });
}

function open() {
  opened ??= new Promise((done, failed) => {
    let asked;
    try { asked = indexedDB.open(NAME, STEPS.length); } catch (error) { failed(shut(error)); return; }
    asked.onupgradeneeded = (event) => {
      for (let step = event.oldVersion; step < STEPS.length; step += 1) STEPS[step](asked.result, asked.transaction);
    };
    asked.onsuccess = () => {
      const db = asked.result;
      db.onclose = () => { opened = null; };
      db.onversionchange = () => { db.close(); opened = null; };
      done(db);
    };
    asked.onerror = () => failed(shut(asked.error));
    asked.onblocked = () => { opened = null; failed(new Error("Another page of this site holds the readings open: close it.")); };
  });
  return opened;
}

function carriedOut(deal, stores, work) {
  return new Promise((done, failed) => {
    let answer;
    deal.oncomplete = () => done(answer);
    deal.onabort = () => failed(deal.error || new DOMException("The write was broken off.", "AbortError"));
    try {
      const asked = work(...stores.map((name) => deal.objectStore(name)));
      if (asked) asked.onsuccess = () => { answer = asked.result; };
    } catch (error) {
      failed(error);
      try { deal.abort(); } catch { /* it is over already */ } // nothing by halves
    }
  });
}

// one transaction; where the system took the connection away, before it or in its middle, it is opened again and all is done again
async function transact(stores, mode, work, tries = 2) {
  try {
    const db = await open();
    const deal = db.transaction(stores, mode, mode === "readwrite" ? { durability: "strict" } : {});
    if (mode === "readwrite") {
      counted.writes += 1;
      if (deal.durability === "strict") counted.strict += 1;
    }
    return await carriedOut(deal, stores, work);
  } catch (error) {
    if (!tries || !LOST.has(error.name)) throw error;
    opened = null;
    return transact(stores, mode, work, tries - 1);
  }
}

// photos that no item and no draft needs any more
function clear(outbox, drafts, photos, shas) {
  outbox.getAll().onsuccess = ({ target: items }) => {
    drafts.getAll().onsuccess = ({ target: open_ }) => {
      const needed = new Set([...items.result.flatMap((one) => one.photos), ...open_.result.flatMap((one) => one.photos.map((photo) => photo.sha256))]);
      for (const sha of shas) if (!needed.has(sha)) photos.delete(sha);
    };
  };
}

export const read = (store, key) => transact([store], "readonly", (one) => one.get(key));
export const keys = (store) => transact([store], "readonly", (one) => one.getAllKeys());
export const all = (store) => transact([store], "readonly", (one) => one.getAll());
export const put = (store, value, key) => transact([store], "readwrite", (one) => { one.put(value, key); });
export const drop = (store, key) => transact([store], "readwrite", (one) => { one.delete(key); });

// changes what is there still; what went meanwhile does not come back
export const change = (store, key, parts) =>
  transact([store], "readwrite", (one) => { one.get(key).onsuccess = ({ target }) => { if (target.result) one.put({ ...target.result, ...parts }); }; });

// the points of a walk, each by itself: by the order of their keys
export const walkKey = (number) => `walk ${String(number).padStart(6, "0")}`;
const walkRange = () => IDBKeyRange.bound("walk ", "walk ~");
export const walked = () => transact(["state"], "readonly", (one) => one.getAll(walkRange()));

// a photo and the draft that names it, both or neither
export const addPhoto = (photo, draft, kind) =>
  transact(["photos", "drafts"], "readwrite", (photos, drafts) => { photos.put(photo); drafts.put(draft, kind); });

export const takeOut = (sha, draft, kind) =>
  transact(["outbox", "drafts", "photos"], "readwrite", (outbox, drafts, photos) => {
    drafts.put(draft, kind);
    clear(outbox, drafts, photos, [sha]);
  });

// an item goes into the outbox, and its draft and walk go: all or nothing
export const finish = (item, kind, counter) =>
  transact(["outbox", "drafts", "state"], "readwrite", (outbox, drafts, state) => {
    outbox.put(item);
    drafts.delete(kind);
    state.put(counter, "counter");
    if (kind === "shore") state.delete(walkRange());
  });

// the item with its photos, except those that others still need
export const release = (id, shas) =>
  transact(["outbox", "drafts", "photos"], "readwrite", (outbox, drafts, photos) => {
    outbox.delete(id);
    clear(outbox, drafts, photos, shas);
  });

// what was begun and is no reading yet, with its photos and its walk
export const forget = (kind, shas) =>
  transact(["outbox", "drafts", "photos", "state"], "readwrite", (outbox, drafts, photos, state) => {
    drafts.delete(kind);
    if (kind === "shore") state.delete(walkRange());
    clear(outbox, drafts, photos, shas);
  });
