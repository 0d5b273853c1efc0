// The shore's drawing: a ring of corners and the soundings over the ground that the server draws.
import { boxesAlong } from "./labels.js";
import { DEPTH_MM, View } from "./view.js";

const SVG = "http://www.w3.org/2000/svg";
const BESIDE = 1.3; // from the middle of a sounding to its depth

/** Where the depth of a sounding may stand about its dot, as x, y and the side that it hangs on: the first that is free. */
const placesOf = (size) => [-1, 1 + 0.75 * size].flatMap((y) => [[BESIDE, y, "start"], [-BESIDE, y, "end"]]);

function made(name, attributes, parent) {
  const found = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, value);
  parent.append(found);
  return found;
}

export class ShoreView extends View {
  constructor(box, data, words) {
    super(box, data.frame, 0);
    this.words = words;
    this.depths = box.querySelector("#ground");
    this.fixed = made("path", { fill: "none", stroke: "#1c1c1c", "stroke-width": 0.8, "stroke-linecap": "round" }, this.lines);
    this.fixed.setAttribute("d", data.fixed.map(([x_m, y_m]) => `M${this.#text({ x_m, y_m })}h0`).join(""));
    // the ring, and the two sides at a corner that is being dragged: the rest of the ring then stays as it is
    const both = () => [["#f4f1e8", 1.5], ["#1c1c1c", 0.6]].map(([stroke, width]) => made("path", { fill: "none", stroke, "stroke-width": width, "stroke-linejoin": "round", "stroke-linecap": "round" }, this.lines));
    this.ring = both();
    this.sides = both();
    this.apart = null;
    this.shown = new Map();
  }

  #text(place) {
    const [x, y] = this.toPaper(place);
    return `${x.toFixed(2)} ${y.toFixed(2)}`;
  }

  // only what is another object than before is touched: a drag changes one of hundreds
  draw(sketch) {
    const seen = new Set();
    sketch.corners.forEach((item, n) => this.#put(item, seen, "corner", () => `Corner ${n + 1} of ${sketch.corners.length}`));
    sketch.soundings.forEach((item) => this.#put(item, seen, "sounding", () => `Sounding, ${this.words(item.depth_m)} deep`));
    if (seen.size < this.byName.size) {
      for (const [id, handle] of this.byName) {
        if (seen.has(id)) continue;
        handle.group.remove();
        this.byName.delete(id);
        this.shown.delete(id);
      }
    }
    this.thinLater();
    this.apart = null;
    this.#line(this.sides, "");
    this.#line(this.ring, sketch.corners.length ? `M${sketch.corners.map((item) => this.#text(item)).join("L")}${sketch.corners.length > 2 ? "Z" : ""}` : "");
  }

  // one thing under a hand, all others where they were drawn
  drag(sketch, item, place) {
    const n = sketch.corners.indexOf(item);
    const count = sketch.corners.length;
    if (this.apart !== item) {
      this.apart = item;
      if (n >= 0) this.#line(this.ring, count > 2 ? `M${sketch.corners.map((_, k) => this.#text(sketch.corners[(n + 1 + k) % count])).slice(0, -1).join("L")}` : "");
    }
    if (n >= 0) {
      const beside = [(n + count - 1) % count, (n + 1) % count].map((k) => (k === n ? place : sketch.corners[k]));
      this.#line(this.sides, `M${[beside[0], place, beside[1]].map((one) => this.#text(one)).join("L")}`);
    }
    this.#move(this.byName.get(item.id), place);
    this.shown.delete(item.id);
  }

  #line(pair, d) {
    for (const path of pair) path.setAttribute("d", d);
  }

  // walls as they are drawn, each a way on the paper
  wall(ways, wide) {
    this.bars = ways.flatMap((way) => boxesAlong(way.map((place) => this.toPaper(place)), wide));
    this.thinLater();
  }

  // a depth is written where it covers no other, no sounding, no corner and no wall: the chosen one, those of the lines, then from the middle of what is shown outwards
  labels() {
    const { x, y, width, height } = this.whole;
    const middle = [x + width / 2, y + height / 2];
    const far = ({ at }) => Math.hypot(at[0] - middle[0], at[1] - middle[1]);
    const isChosen = ({ group }) => group.getAttribute("aria-pressed") === "true" || group === document.activeElement;
    const all = [...this.byName.values()].filter(({ words }) => words);
    const rest = all.filter((handle) => !isChosen(handle)).map((handle) => [far(handle), handle]).sort((a, b) => a[0] - b[0]);
    const covered = [...this.marksOf([...this.byName.values()]), ...this.bars];
    const size = DEPTH_MM * this.fine;
    const places = placesOf(size);
    const label = (handle, always = false) => ({
      always,
      boxes: places.map((place) => this.handleBox(handle, size, place)),
      beside: covered,
      show: (n) => this.#writeAt(handle.words, places[Math.max(n, 0)], n < 0),
    });
    return [...all.filter(isChosen).map((handle) => label(handle, true)), ...super.labels(), ...rest.map(([, handle]) => label(handle))];
  }

  #writeAt(words, [x, y, anchor], isUnsaid) {
    for (const [name, value] of Object.entries({ x, y, "text-anchor": anchor })) if (words.getAttribute(name) !== String(value)) words.setAttribute(name, value);
    words.classList.toggle("unsaid", isUnsaid);
  }

  taken() {
    return [];
  }

  press(name) {
    super.press(name);
    this.thinLater();
  }

  #put(item, seen, kind, label) {
    seen.add(item.id);
    if (this.shown.get(item.id) === item) return;
    this.shown.set(item.id, item);
    let handle = this.byName.get(item.id);
    if (!handle) {
      const group = made("g", { class: `handle ${kind}`, tabindex: "0", role: "button", "aria-pressed": "false", "data-name": item.id }, this.handles);
      made("circle", { class: "halo", r: 3 }, group);
      if (kind === "corner") made("rect", { x: -1, y: -1, width: 2, height: 2, fill: "#f4f1e8", stroke: "#1c1c1c", "stroke-width": 0.45 }, group);
      else made("circle", { r: 0.8, fill: "#1c1c1c", stroke: "#f4f1e8", "stroke-width": 0.4 }, group);
      const words = kind === "sounding" ? made("text", { x: 1.3, y: -1, "font-size": DEPTH_MM, fill: "#1c1c1c", stroke: "#f4f1e8", "stroke-width": 0.6, "paint-order": "stroke", "aria-hidden": "true" }, group) : null;
      handle = { group, words, at: [0, 0], radius: kind === "corner" ? 1 : 0.8 };
      this.byName.set(item.id, handle);
    }
    this.#move(handle, item);
    if (handle.words) handle.words.textContent = this.words(item.depth_m);
    handle.group.setAttribute("aria-label", label());
  }

  #move(handle, place) {
    handle.at = this.toPaper(place);
    handle.group.setAttribute("transform", `translate(${handle.at[0].toFixed(2)} ${handle.at[1].toFixed(2)})`);
  }

  // the server's ground is a piece of SVG; its shore gives way to the ring that is drawn here
  lay(text) {
    const found = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${text}</svg>`, "image/svg+xml").documentElement;
    if (found.nodeName === "svg") this.depths.replaceChildren(...[...found.childNodes].map((node) => document.adoptNode(node)));
    this.sized();
  }
}
