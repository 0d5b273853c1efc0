// Walls on stretches of the shore: two corners chosen, the shore between them marked, its depth typed; one line of text each.
import { at, data, wrong } from "./page.js";

const SVG = "http://www.w3.org/2000/svg";
const WIDE = 1.8;
const TYPED = /^\s*corner\s*(\d+)\s*;\s*corner\s*(\d+)\s*;/i;

export class Walls {
  constructor(view, words, { corners, isSaved, press }) {
    Object.assign(this, { view, words, corners, isSaved, press });
    this.first = null;
    this.ends = null;
    this.texts = []; // what stood in the field before each wall, to be undone
    this.saved = data.wall_lines.split("\n").filter((line) => line.trim());
    this.marks = document.createElementNS(SVG, "path");
    for (const [name, value] of Object.entries({ fill: "none", stroke: "#1c1c1c", "stroke-width": WIDE, "stroke-linejoin": "round", class: "wall-mark" })) this.marks.setAttribute(name, value);
    view.lines.append(this.marks);
    at("wall-lines").addEventListener("input", () => this.draw());
    at("wall-mark").addEventListener("click", () => this.#mark());
    at("wall-leave").addEventListener("click", () => this.leave("Not marked."));
    at("wall-undo").addEventListener("click", () => this.#undo());
    at("wall-form").addEventListener("submit", (event) => {
      if (this.isSaved()) return;
      // the next revision would not have what is drawn on this one
      event.preventDefault();
      wrong("Save the shore first, or take back what was drawn: it is not saved with the walls.");
      at("wrong").scrollIntoView({ block: "center" });
    });
    at("wall-depth").addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      this.#mark();
    });
    this.draw();
  }

  // the first tap is one end, the second the other
  tapped(id) {
    const n = this.corners().findIndex((item) => item.id === id);
    if (n < 0) return;
    if (!this.isSaved()) {
      this.leave("");
      wrong("Save the shore first: a wall goes by the corners that are saved.");
      return;
    }
    if (this.first === null || this.first === n) {
      this.first = this.first === n ? null : n;
      this.ends = null;
      this.press(this.first === null ? null : id);
      at("wall").hidden = true;
      at("told").textContent = this.first === null ? "No corner is chosen." : `A wall from corner ${n + 1}: choose the corner where it ends.`;
      this.draw();
      return;
    }
    this.ends = [this.first, n];
    this.first = null;
    this.press(null);
    this.draw();
    const [from, to] = this.ends;
    at("wall-name").textContent = `A wall from corner ${from + 1} to corner ${to + 1}, ${this.words(this.#length(this.#between(from, to)))} of shore`;
    at("wall").hidden = false;
    at("wall-depth").focus();
  }

  leave(told) {
    this.first = null;
    this.ends = null;
    at("wall").hidden = true;
    at("told").textContent = told;
    this.draw();
  }

  #mark() {
    const depth = at("wall-depth").value.trim();
    if (!this.ends) return;
    if (!depth) {
      wrong("Type how deep the water is at the foot of the wall, with its unit.");
      at("wall-depth").focus();
      return;
    }
    wrong("");
    const text = at("wall-lines").value;
    this.texts.push(text);
    const [from, to] = this.ends;
    const rest = text.trim();
    at("wall-lines").value = `${rest}${rest ? "\n" : ""}corner ${from + 1}; corner ${to + 1}; ${depth}`;
    at("wall-depth").value = "";
    at("wall-undo").disabled = false;
    at("wall-unsaved").hidden = false;
    this.leave("The wall is marked; save the walls below.");
  }

  #undo() {
    if (!this.texts.length) return;
    at("wall-lines").value = this.texts.pop();
    at("wall-undo").disabled = !this.texts.length;
    at("wall-unsaved").hidden = !this.texts.length;
    this.leave("The last wall is taken back.");
  }

  // the shorter way round, as the survey takes it
  #between(from, to) {
    const ring = this.corners();
    const way = (a, b) => {
      const found = [ring[a]];
      for (let k = a; k !== b; ) {
        k = (k + 1) % ring.length;
        found.push(ring[k]);
      }
      return found;
    };
    const ways = [way(from, to), way(to, from)];
    return this.#length(ways[0]) <= this.#length(ways[1]) ? ways[0] : ways[1];
  }

  #length(way) {
    return way.slice(1).reduce((sum, item, n) => sum + Math.hypot(item.x_m - way[n].x_m, item.y_m - way[n].y_m), 0);
  }

  draw() {
    const count = this.corners().length;
    const ways = at("wall-lines").value.split("\n").map((line) => {
      const typed = TYPED.exec(line);
      const ends = typed ? [Number(typed[1]) - 1, Number(typed[2]) - 1] : null;
      if (ends) return ends.every((n) => n >= 0 && n < count) ? this.#between(...ends) : [];
      return data.walls[this.saved.indexOf(line)] || [];
    });
    if (this.ends) ways.push(this.#between(...this.ends));
    this.view.wall(ways, WIDE);
    const text = (item) => this.view.toPaper(item).map((value) => value.toFixed(2)).join(" ");
    this.marks.setAttribute("d", ways.filter((way) => way.length > 1).map((way) => `M${way.map(text).join("L")}`).join(""));
  }
}
