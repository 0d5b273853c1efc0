// What was done on the plan, to be undone: at most 200 steps, kept in the browser through a reload and a restart.
const MOST = 200;

export class Past {
  // `plane`: where the middle lies from which places are counted; places about another middle are not offered
  constructor(pond, number, saved, plane = "") {
    this.plane = plane;
    this.key = `plumeline plan ${pond}`;
    this.number = number;
    this.saved = saved;
    this.done = [];
    this.undone = [];
    this.now = saved;
    const kept = this.#kept();
    if (kept && kept.number === number) {
      this.done = kept.done;
      this.undone = kept.undone;
      this.now = kept.now;
    }
    this.stale = kept && kept.number !== number && kept.now && kept.plane === plane ? kept : null;
  }

  #kept() {
    try {
      return JSON.parse(localStorage.getItem(this.key));
    } catch {
      return null; // storage is off, or holds what is not ours: nothing to go back to
    }
  }

  #keep() {
    const text = JSON.stringify({ number: this.number, plane: this.plane, done: this.done, undone: this.undone, now: this.now });
    try {
      localStorage.setItem(this.key, text);
      return true;
    } catch {
      return false;
    }
  }

  step(next) {
    this.done.push(this.now);
    if (this.done.length > MOST) this.done.shift();
    this.undone = [];
    this.now = next;
    return this.#keep();
  }

  undo() {
    if (!this.done.length) return false;
    this.undone.push(this.now);
    this.now = this.done.pop();
    this.#keep();
    return true;
  }

  redo() {
    if (!this.undone.length) return false;
    this.done.push(this.now);
    this.now = this.undone.pop();
    this.#keep();
    return true;
  }

  get changed() {
    return JSON.stringify(this.now) !== JSON.stringify(this.saved);
  }

  forget() {
    this.done = [];
    this.undone = [];
    this.now = this.saved;
    this.stale = null;
    localStorage.removeItem(this.key);
  }
}
