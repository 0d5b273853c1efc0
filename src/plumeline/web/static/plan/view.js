// The drawing: its ground comes from the server; handles, lines and labels are laid over it here.
import { boxOf, thinned } from "./labels.js";

const SVG = "http://www.w3.org/2000/svg";
const DASHES = ["", "2.4 1", "0.8 0.8", "3.2 0.8 0.8 0.8", "1.6 0.6", "4 1.2"];
export const HIT_PX = 26;
const LINE_PX = 12; // less than a handle: beside a line one finger still scrolls the page
const WORDS_MM = 3.3;
const WORDS_PX = 13;
const LEAST_PX = 11.2; // the smallest letters on the screen, a little over what the pages promise
export const DEPTH_MM = 2.4; // letters of a sounding's depth
const BRIEF = 1.3;

function made(name, attributes, parent) {
  const found = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, value);
  if (parent) parent.append(found);
  return found;
}

// what a depth of a line is written on
function plateOf(text) {
  const before = text.previousElementSibling;
  return before?.nodeName === "rect" && before.hasAttribute("rx") ? before : null;
}

function nearestCorner(way, [x, y]) {
  let best = 0;
  way.forEach((at, i) => {
    if (Math.hypot(at[0] - x, at[1] - y) < Math.hypot(way[best][0] - x, way[best][1] - y)) best = i;
  });
  return best;
}

export class View {
  constructor(box, frame, key_mm, mostBends = 0) {
    this.svg = box.querySelector("svg");
    this.svg.setAttribute("role", "group");
    this.svg.removeAttribute("width");
    this.svg.removeAttribute("height");
    this.frame = frame;
    this.mostBends = mostBends;
    this.whole = this.svg.viewBox.baseVal;
    this.size = { x: this.whole.x, y: this.whole.y, width: this.whole.width, height: this.whole.height };
    this.whole.width -= key_mm;
    this.key_mm = key_mm;
    this.lines = made("g", { "aria-hidden": "true" }, this.svg);
    this.handles = made("g", {}, this.svg);
    this.byName = new Map();
    this.ways = new Map(); // each diffuser's line on the paper, and its bends
    this.grasped = null;
    this.bars = []; // boxes of what is drawn as broad as no word may cover
    this.scale = 1;
    this.waits = 0;
    // without it a browser keeps the form of the drawing with its key
    this.svg.style.aspectRatio = `${this.whole.width} / ${this.whole.height}`;
    this.#grow();
    new ResizeObserver(() => this.#grow()).observe(box);
  }

  // on a phone the drawing is small: its handles and words are not, and the depth stands in the table alone
  #grow() {
    this.px_mm = this.svg.getScreenCTM().a / this.scale;
    this.grown = Math.min(2.5, Math.max(1, WORDS_PX / (WORDS_MM * this.px_mm)));
    this.fine = Math.max(1, LEAST_PX / (DEPTH_MM * this.px_mm * this.grown));
    this.sized();
  }

  toPaper(place) {
    const f = this.frame;
    return [f.centre_x_mm + (place.x_m - f.middle_x_m) * f.scale_mm_m, f.centre_y_mm - (place.y_m - f.middle_y_m) * f.scale_mm_m];
  }

  toPond(x_mm, y_mm) {
    const f = this.frame;
    return { x_m: f.middle_x_m + (x_mm - f.centre_x_mm) / f.scale_mm_m, y_m: f.middle_y_m - (y_mm - f.centre_y_mm) / f.scale_mm_m };
  }

  fromScreen(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return this.toPond(point.x, point.y);
  }

  // the nearest handle within a finger's width
  nearest(event) {
    let best = null;
    let least_px = HIT_PX;
    const turn = this.svg.getScreenCTM();
    for (const [name, handle] of this.byName) {
      const at = new DOMPoint(...handle.at).matrixTransform(turn);
      const far_px = Math.hypot(at.x - event.clientX, at.y - event.clientY);
      if (far_px <= least_px) [best, least_px] = [name, far_px];
    }
    return best;
  }

  // the line within reach of a finger, as the key of the bend that a pull at it would make; `grasped` is where
  grasp(event) {
    const turn = this.svg.getScreenCTM();
    let least_px = LINE_PX;
    let best = null;
    for (const [name, { way, bends, full }] of this.ways) {
      if (full) continue;
      const px = way.map((mm) => new DOMPoint(...mm).matrixTransform(turn));
      for (let i = 1; i < px.length; i += 1) {
        const [a, b] = [px[i - 1], px[i]];
        const long = (b.x - a.x) ** 2 + (b.y - a.y) ** 2;
        const part = long ? Math.min(1, Math.max(0, ((event.clientX - a.x) * (b.x - a.x) + (event.clientY - a.y) * (b.y - a.y)) / long)) : 0;
        const far_px = Math.hypot(a.x + part * (b.x - a.x) - event.clientX, a.y + part * (b.y - a.y) - event.clientY);
        if (far_px < least_px) {
          least_px = far_px;
          const behind = bends.filter((bend) => nearestCorner(way, bend) < i).length;
          best = `${name}\n+${behind}`;
        }
      }
    }
    if (best) this.grasped = this.fromScreen(event);
    return best;
  }

  // the middle of the longest straight piece of a line, for a bend without a pointer
  graspMiddle(name) {
    const { way, bends } = this.ways.get(name);
    const far = (i) => Math.hypot(way[i][0] - way[i - 1][0], way[i][1] - way[i - 1][1]);
    let longest = 1;
    for (let i = 2; i < way.length; i += 1) if (far(i) > far(longest)) longest = i;
    this.grasped = this.toPond((way[longest][0] + way[longest - 1][0]) / 2, (way[longest][1] + way[longest - 1][1]) / 2);
    return `${name}\n+${bends.filter((bend) => nearestCorner(way, bend) < longest).length}`;
  }

  #handle(name, label) {
    let handle = this.byName.get(name);
    if (!handle) {
      const group = made("g", { class: "handle", tabindex: "0", role: "button", "aria-pressed": "false", "data-name": name }, this.handles);
      made("circle", { class: "halo", r: 3.6 }, group);
      if (name.includes("\n")) made("path", { d: "M0 -1.6 L1.6 0 L0 1.6 L-1.6 0 Z", fill: "#f4f1e8", stroke: "#1c1c1c", "stroke-width": 0.5 }, group);
      else if (name) {
        made("circle", { r: 2, fill: "#f4f1e8", stroke: "#1c1c1c", "stroke-width": 0.5 }, group);
        made("circle", { r: 0.75, fill: "#1c1c1c" }, group);
      } else made("rect", { x: -1.7, y: -1.7, width: 3.4, height: 3.4, fill: "#1c1c1c", stroke: "#f4f1e8", "stroke-width": 0.6 }, group);
      const words = made("text", { x: 3, y: -2.4, "font-size": WORDS_MM, "font-weight": "bold", fill: "#1c1c1c", stroke: "#f4f1e8", "stroke-width": 0.8, "paint-order": "stroke", "aria-hidden": "true" }, group);
      handle = { group, words, at: [0, 0], radius: 2 };
      this.byName.set(name, handle);
    }
    handle.group.setAttribute("aria-label", label);
    return handle;
  }

  // put handles where the sketch has them; lines go straight until the server has found their way
  place(sketch, answer) {
    const seen = new Set();
    const put = (name, place, words, label) => {
      const handle = this.#handle(name, label);
      handle.at = this.toPaper(place);
      handle.group.setAttribute("transform", `translate(${handle.at[0].toFixed(2)} ${handle.at[1].toFixed(2)})`);
      if (handle.words.textContent !== words) handle.words.textContent = words;
      seen.add(name);
    };
    const known = new Map((answer ? answer.diffusers : []).map((row) => [row.name, row]));
    for (const item of sketch.diffusers) {
      const row = known.get(item.name);
      put(item.name, item, row && this.grown < BRIEF ? `${item.name} · ${row.said.depth}` : item.name, row ? `Diffuser ${item.name}, ${row.said.depth} deep, ${row.said.flow}` : `Diffuser ${item.name}`);
    }
    for (const { name, bends } of sketch.diffusers) bends.forEach((bend, n) => put(`${name}\n${n}`, bend, "", `Bend ${n + 1} of the line of ${name}`));
    put("", sketch.manifold, "manifold", "Manifold");
    for (const [name, handle] of this.byName) {
      if (!seen.has(name)) {
        handle.group.remove();
        this.byName.delete(name);
      }
    }
    this.#draw(sketch, known);
    this.thinLater();
  }

  #draw(sketch, known) {
    this.lines.replaceChildren();
    this.ways.clear();
    const from = this.toPaper(sketch.manifold);
    sketch.diffusers.forEach((item, n) => {
      const row = known.get(item.name);
      const to = this.toPaper(item);
      const bends = item.bends.map((bend) => this.toPaper(bend));
      const near = ([x_m, y_m], place) => Math.hypot(x_m - place.x_m, y_m - place.y_m) < 0.05;
      const same = row && near([row.x_m, row.y_m], item) && row.bends_xy_m.length === item.bends.length && row.bends_xy_m.every((xy, k) => near(xy, item.bends[k]));
      let path = [from, ...bends, to];
      if (same) {
        const way = row.branch_path_xy_m.map(([x_m, y_m]) => this.toPaper({ x_m, y_m }));
        if (Math.hypot(way[0][0] - from[0], way[0][1] - from[1]) < 0.3) path = way;
      }
      this.ways.set(item.name, { way: path, bends, full: item.bends.length >= this.mostBends });
      const d = `M${path.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join(" L")}`;
      made("path", { d, fill: "none", stroke: "#f4f1e8", "stroke-width": 1.7 }, this.lines);
      const line = made("path", { d, fill: "none", stroke: "#1c1c1c", "stroke-width": 0.6 }, this.lines);
      if (DASHES[n % DASHES.length]) line.setAttribute("stroke-dasharray", DASHES[n % DASHES.length]);
    });
  }

  press(name) {
    for (const [other, handle] of this.byName) handle.group.setAttribute("aria-pressed", String(other === name));
  }

  zoom(by, about) {
    const scale = Math.min(12, Math.max(1, this.scale * by));
    const box = this.whole;
    const centre = about || [box.x + box.width / 2, box.y + box.height / 2];
    const ratio = this.scale / scale;
    this.#show(centre[0] - (centre[0] - box.x) * ratio, centre[1] - (centre[1] - box.y) * ratio, scale);
  }

  pan(dx_px, dy_px) {
    const turn = this.svg.getScreenCTM();
    this.#show(this.whole.x - dx_px / turn.a, this.whole.y - dy_px / turn.d, this.scale);
  }

  // handles stay as large as they are on the screen, so that closer means farther apart
  sized() {
    this.svg.style.setProperty("--small", (this.grown / this.scale).toFixed(3));
    this.svg.style.setProperty("--fine", this.fine.toFixed(3));
    for (const text of this.#groundWords()) {
      const by = this.#groundScale(text);
      for (const one of [text, plateOf(text)]) one?.style.setProperty("--ground", by.toFixed(3));
    }
    this.thinLater();
  }

  #groundWords() {
    return [...this.svg.querySelectorAll("text")].filter((text) => !text.closest(".handle"));
  }

  // as large as it is drawn, or as large as can be read; as close as the drawing is
  #groundScale(text) {
    return Math.max(1, LEAST_PX / (text.getAttribute("font-size") * this.px_mm)) / this.scale;
  }

  // once a frame, whatever has changed in it
  thinLater() {
    this.waits ||= requestAnimationFrame(() => {
      this.waits = 0;
      thinned(this.labels(), this.taken());
    });
  }

  // the names of the handles always stay
  taken() {
    return [...this.byName.values()].filter(({ words }) => words?.textContent).map((handle) => this.handleBox(handle, WORDS_MM));
  }

  handleBox({ at, words }, size_mm, [x, y, anchor] = [words.getAttribute("x"), words.getAttribute("y"), "start"]) {
    const small = this.grown / this.scale;
    return boxOf(words.textContent, at[0] + small * x, at[1] + small * y, small * size_mm, anchor);
  }

  marksOf(handles) {
    const small = this.grown / this.scale;
    return handles.map(({ at: [x, y], radius }) => ({
      left: x - small * radius, right: x + small * radius, top: y - small * radius, bottom: y + small * radius,
    }));
  }

  // of the words of the ground those on a plate are the depths of its lines; the marks of the handles are drawn over them
  labels() {
    const found = [];
    const marks = [...this.marksOf([...this.byName.values()]), ...this.bars];
    for (const text of this.#groundWords().filter(plateOf)) {
      const size = text.getAttribute("font-size") * this.#groundScale(text);
      const show = (place) => [text, plateOf(text)].forEach((one) => one.classList.toggle("unsaid", place < 0));
      const [x, y] = ["x", "y"].map((name) => Number(text.getAttribute(name)));
      found.push({ boxes: [boxOf(text.textContent, x, y, size, "middle")], beside: marks, show });
    }
    return found;
  }

  #show(x, y, scale) {
    this.scale = scale;
    this.sized();
    const width = (this.size.width - this.key_mm) / scale;
    const height = this.size.height / scale;
    const clip = (at, low, room) => Math.min(Math.max(at, low), low + room);
    this.whole.x = clip(x, this.size.x, this.size.width - width);
    this.whole.y = clip(y, this.size.y, this.size.height - height);
    this.whole.width = width;
    this.whole.height = height;
  }

  all() {
    this.#show(this.size.x, this.size.y, 1);
  }

  paper(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [point.x, point.y];
  }
}
