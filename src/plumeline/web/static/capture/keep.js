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
/** Counted for the tests: as many strict transactions as writing ones. */
export const counted = { writes: 0, strict: 0 };
let opened = null;

function open() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, STEPS.length);
    asked.onupgradeneeded = (event) => {
      for (let step = event.oldVersion; step < STEPS.length; step += 1) STEPS[step](asked.result, asked.transaction);
    };
    asked.onsuccess = () => {
      const db = asked.result;
      db.onclose = () => { opened = null; };
      db.onversionchange = () => { db.close(); opened = null; };
      done(db);
    };
    asked.onerror = () => { opened = null; failed(asked.error); };
    asked.onblocked = () => { opened = null; failed(new Error("Another page of this site holds the readings open: close it.")); };
  });
  return opened;
}

// one transaction; a connection that the system took away in the background is opened again, once
async function transact(stores, mode, work, again = true) {
  let db;
  let deal;
  try {
    db = await open();
    deal = db.transaction(stores, mode, mode === "readwrite" ? { durability: "strict" } : {});
  } catch (error) {
    if (again && error.name === "InvalidStateError") {
      opened = null;
      return transact(stores, mode, work, false);
    }
    throw error;
  }
  if (mode === "readwrite") {
    counted.writes += 1;
    if (deal.durability === "strict") counted.strict += 1;
  }
  return new Promise((done, failed) => {
    let answer;
    deal.oncomplete = () => done(answer);
    deal.onabort = () => failed(deal.error || new Error("The write was broken off."));
    const asked = work(...stores.map((name) => deal.objectStore(name)));
    if (asked) asked.onsuccess = () => { answer = asked.result; };
  });
}

export const read = (store, key) => transact([store], "readonly", (one) => one.get(key));
export const all = (store) => transact([store], "readonly", (one) => one.getAll());
export const put = (store, value, key) => transact([store], "readwrite", (one) => { one.put(value, key); });
export const drop = (store, key) => transact([store], "readwrite", (one) => { one.delete(key); });

// an item goes into the outbox and its draft goes, both or neither
export const finish = (item, kind, counter) =>
  transact(["outbox", "drafts", "state"], "readwrite", (outbox, drafts, state) => {
    outbox.put(item);
    drafts.delete(kind);
    state.put(counter, "counter");
  });

// after the receipt: the item with its photos, except those that others still need
export const handedOver = (id, photos) =>
  transact(["outbox", "photos"], "readwrite", (outbox, kept) => {
    outbox.delete(id);
    for (const sha of photos) kept.delete(sha);
  });
