// Questions to the server: one is under way at a time, the latest one waits, those between are dropped.
const AGAIN_MS = 4000;

export class Asking {
  constructor(url, { answered, refused, silent }) {
    Object.assign(this, { url, answered, refused, silent, busy: false, waiting: null, again: 0 });
  }

  async #sent(body) {
    try {
      const reply = await fetch(this.url, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Plumeline": "1", Accept: "application/json" },
        body: JSON.stringify(body),
      });
      const isOurs = (reply.headers.get("content-type") || "").includes("json");
      return [reply, isOurs ? await reply.json() : null];
    } catch {
      return [null, null]; // no connection, or one that broke off
    }
  }

  async ask(body, how = {}) {
    clearTimeout(this.again);
    if (this.busy) {
      // what was typed is never dropped for what was dragged after it
      if (!(this.waiting && this.waiting[1].typed)) this.waiting = [body, how];
      return;
    }
    this.busy = true;
    const began = performance.now();
    try {
      const [reply, found] = await this.#sent(body);
      if (!reply) {
        this.silent();
        if (!this.waiting) this.again = setTimeout(() => this.ask(body, how), AGAIN_MS);
      } else if (reply.ok && found) this.answered(found, how, performance.now() - began);
      else this.refused(reply.status, (found && found.detail) || "The server can't work this through; nothing is lost here.", how);
    } finally {
      this.busy = false;
      if (this.waiting) {
        const [next, then] = this.waiting;
        this.waiting = null;
        this.ask(next, then);
      }
    }
  }
}
