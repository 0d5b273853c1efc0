// Questions to the server: one is under way at a time, the latest one waits, those between are dropped. A question may be
// followed by what is slower to answer; that gives way to the next question.
const AGAIN_MS = 4000;

export class Asking {
  constructor(url, { answered, refused, silent }) {
    Object.assign(this, { url, answered, refused, silent, busy: null, waiting: null, again: 0 });
  }

  async #sent(body, signal) {
    try {
      const reply = await fetch(this.url, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-Plumeline": "1", Accept: "application/json" },
        body: JSON.stringify(body),
        signal,
      });
      const isOurs = (reply.headers.get("content-type") || "").includes("json");
      return [reply, isOurs ? await reply.json() : null];
    } catch {
      return [null, null]; // no connection, one that broke off, or a question that gave way
    }
  }

  /** Ask; `body` is the question or makes it when it is sent, `how` comes back with the answer; `how.rest` gives way. */
  async ask(body, how = {}) {
    clearTimeout(this.again);
    how.began ??= performance.now();
    if (this.busy) {
      if (this.busy.how.rest) this.busy.stop.abort();
      // what was typed is never dropped for what was dragged after it
      if (!(this.waiting && this.waiting[1].typed)) this.waiting = [body, how];
      return;
    }
    const stop = new AbortController();
    this.busy = { how, stop };
    try {
      const [reply, found] = await this.#sent(typeof body === "function" ? body() : body, stop.signal);
      if (stop.signal.aborted) return;
      if (!reply) {
        this.silent();
        if (!this.waiting) this.again = setTimeout(() => this.ask(body, how), AGAIN_MS);
      } else if (reply.ok && found) this.answered(found, how, performance.now() - how.began);
      else this.refused(reply.status, (found && found.detail) || "The server can't work this through; nothing is lost here.", how);
    } finally {
      this.busy = null;
      if (this.waiting) {
        const [next, then] = this.waiting;
        this.waiting = null;
        this.ask(next, then);
      }
    }
  }
}
