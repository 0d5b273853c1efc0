// The page of the shore: corners and soundings drawn by hand; the server surveys what is drawn, the latest wins.
import { Asking } from "./asking.js";
import { hands } from "./hands.js";
import { ALL, ARROWS, DRAWN_AND_LAID_OUT, LAID_OUT, NOTHING, at, before, data, filledIn, firstFilledIn, heldBack, kept, reading, refusedText, size_m, stepsShown, tookNote, tools, understood, wrong } from "./page.js";
import { Past } from "./past.js";
import { ShoreView } from "./shore_view.js";
import { Walls } from "./shore_walls.js";
import { under } from "./under.js";

const FOOT_M = 0.3048;
const words = (value_m) => (data.units === "us" ? `${(value_m / FOOT_M).toFixed(1)} ft` : `${value_m.toFixed(2)} m`);

// things have names of their own here, so that an undo finds them again
let names = 0;
function fresh() {
  names += 1;
  return `n${Date.now().toString(36)}${names}`;
}
const own = (sketch) => ({
  corners: sketch.corners.map((item, n) => ({ id: `c${item.index ?? `x${n}`}`, ...item })),
  soundings: sketch.soundings.map((item, n) => ({ id: `s${item.index ?? `x${n}`}`, ...item })),
});
const sent = (sketch, more = {}) => {
  const bare = ({ id, ...item }) => item;
  return { revision_number: data.number, corners: sketch.corners.map(bare), soundings: sketch.soundings.map(bare), ...more };
};

const again = under(at("plan").querySelector("svg"), data);
const view = new ShoreView(at("plan"), data, words);
const past = new Past(`${data.pond} shore`, data.number, own(data.saved));
if (data.changed) past.now = own(data.sketch); // what the server could not keep
let drawn = past.now;
let chosen = null;
let edited = Boolean(data.typed); // the lines of text say something that is not drawn yet
let pending = null; // a new sounding whose depth is not typed yet
let walls = null; // where there is a shore that can have some

const asking = new Asking(`/ponds/${encodeURIComponent(data.pond)}/shore/sketch`, {
  answered(found, { typed, told, of, rest, dragging, began }, took_ms) {
    wrong("");
    if (typed) understood();
    if (typed) took(found.sketch, typed);
    if (rest) at("plan").dataset.allMs = took_ms.toFixed(0);
    else tookNote(found, took_ms, "what you draw");
    if (found.ground) {
      view.lay(found.ground);
      again();
    }
    const isNow = Boolean(typed) || of === drawn;
    if (rest || typed) filledIn(found.answer);
    else firstFilledIn(found.answer);
    if (isNow) before(rest || typed ? NOTHING : dragging ? DRAWN_AND_LAID_OUT : LAID_OUT);
    if (told) at("told").textContent = told;
    if (isNow && !rest && !typed && !dragging && !asking.waiting) asking.ask(() => sent(of, { draws_ground: false }), { of, rest: true, began });
  },
  refused(status, words, { typed } = {}) {
    if (typed) refusedText(words);
    wrong(words);
  },
  silent() {
    wrong("The server does not answer. What you drew is kept in this browser; it is worked through when the server is back.");
  },
});

const kindOf = (id, sketch = past.now) => (sketch.corners.some((item) => item.id === id) ? "corners" : "soundings");
const found = (id, sketch = past.now) => sketch[kindOf(id, sketch)].find((item) => item.id === id) || (pending && pending.id === id ? pending : null);

function changedTo(sketch, id, change) {
  const kind = kindOf(id, sketch);
  return { ...sketch, [kind]: sketch[kind].map((item) => (item.id === id ? { ...item, ...change, index: undefined } : item)) };
}

function ask(sketch, how = {}) {
  const count = sketch.corners.length;
  const began = data.saved.corners.length || count;
  if (began && count < 3) {
    wrong(`The shore has ${count} corner${count === 1 ? "" : "s"} so far; three are needed.`);
    return;
  }
  before(ALL);
  asking.ask(() => sent(sketch, { draws_ground: !how.dragging, lays_out: false }), { ...how, of: sketch });
}

function shown() {
  view.draw(pending ? { ...drawn, soundings: [...drawn.soundings, pending] } : drawn);
  view.press(chosen);
  if (walls) walls.draw();
  stepsShown(past);
  panel();
}

function panel() {
  const item = chosen === null ? null : found(chosen, drawn);
  at("chosen").hidden = !item;
  if (!item) return;
  const isCorner = kindOf(chosen, drawn) === "corners";
  at("chosen-name").textContent = isCorner ? `Corner ${drawn.corners.indexOf(item) + 1} of ${drawn.corners.length}` : item === pending ? "New sounding: type its depth" : "Sounding";
  at("depth-field").hidden = isCorner;
  for (const [id, value] of [["east", item.x_m], ["north", item.y_m], ["depth", item.depth_m]]) {
    if (document.activeElement !== at(id)) at(id).value = value === undefined || Number.isNaN(value) ? "" : words(value);
  }
}

function lined() {
  if (edited) return; // what was typed is not written over
  at("corner-lines").value = past.now.corners.map((item) => `${words(item.x_m)}, ${words(item.y_m)}`).join("\n");
  at("sounding-lines").value = past.now.soundings.map((item) => `${words(item.x_m)}, ${words(item.y_m)}, ${words(item.depth_m)}`).join("\n");
}

function step(next, { quiet = false, told = "" } = {}) {
  kept(past, next);
  drawn = next;
  lined();
  shown();
  if (!quiet) ask(next, { told });
}

// the server has read what was typed
function took(sketch, { names: ids }) {
  if (!ids) edited = false;
  const give = (rows, kind) => rows.map(({ index, ...item }, n) => ({ id: ids ? ids[kind][n] : index === null || index === undefined ? fresh() : `${kind[0]}${index}`, ...item, ...(index === null || index === undefined ? {} : { index }) }));
  pending = null;
  step({ corners: give(sketch.corners, "corners"), soundings: give(sketch.soundings.map((item) => item), "soundings") }, { quiet: true });
}

function typed(next, more = {}) {
  const ids = more.corner_lines === undefined ? { corners: next.corners.map((item) => item.id), soundings: next.soundings.map((item) => item.id) } : null;
  asking.ask(sent(next, more), { typed: { names: ids }, told: "Understood." });
}

function move(id, dx_m, dy_m) {
  const item = found(id);
  if (!item) return;
  if (item === pending) {
    pending = { ...item, x_m: item.x_m + dx_m, y_m: item.y_m + dy_m };
    shown();
    return;
  }
  const place = { x_m: item.x_m + dx_m, y_m: item.y_m + dy_m };
  step(changedTo(past.now, id, place), { told: `${words(place.x_m)} east, ${words(place.y_m)} north.` });
}

function choose(id) {
  understood(); // the panel shows another thing's numbers
  if (pending && id !== pending.id) pending = null;
  chosen = id;
  shown();
}

function back(did) {
  if (!did) return;
  understood();
  edited = false;
  drawn = past.now;
  lined();
  if (chosen !== null && !found(chosen, drawn)) chosen = null;
  shown();
  ask(past.now);
}

// --- new things
const mode = () => document.querySelector("input[name=tap]:checked").value;

function afterWhich(place) {
  const corners = past.now.corners;
  const picked = corners.findIndex((item) => item.id === chosen);
  if (picked >= 0) return picked;
  if (corners.length < 3) return corners.length - 1;
  let best = 0;
  let least = Infinity;
  corners.forEach((a, n) => {
    const b = corners[(n + 1) % corners.length];
    const [dx, dy] = [b.x_m - a.x_m, b.y_m - a.y_m];
    const t = Math.max(0, Math.min(1, ((place.x_m - a.x_m) * dx + (place.y_m - a.y_m) * dy) / (dx * dx + dy * dy || 1)));
    const far = Math.hypot(place.x_m - a.x_m - t * dx, place.y_m - a.y_m - t * dy);
    if (far < least) [best, least] = [n, far];
  });
  return best;
}

function setAt(place) {
  const spot = { id: fresh(), x_m: Number(place.x_m.toFixed(2)), y_m: Number(place.y_m.toFixed(2)) };
  if (mode() === "corner") {
    const corners = [...past.now.corners];
    corners.splice(afterWhich(place) + 1, 0, spot);
    chosen = spot.id;
    step({ ...past.now, corners }, { told: `Corner set; the shore has ${corners.length}.` });
  } else if (mode() === "sounding") {
    pending = { ...spot, depth_m: NaN };
    chosen = spot.id;
    shown();
    at("depth").value = "";
    at("depth").focus();
  } else if (mode() === "move" && chosen !== null) {
    const item = found(chosen);
    move(chosen, place.x_m - item.x_m, place.y_m - item.y_m);
    choose(null);
  }
}

hands(view, {
  dragged(id, dx_m, dy_m) {
    if (pending && id === pending.id) return;
    const item = found(id);
    const place = { x_m: item.x_m + dx_m, y_m: item.y_m + dy_m };
    view.drag(past.now, item, place);
    drawn = changedTo(past.now, id, place);
    ask(drawn, { dragging: true });
  },
  dropped(id, dx_m, dy_m) {
    move(id, dx_m, dy_m);
    choose(null);
  },
  tapped(id, place) {
    if (mode() === "wall") walls.tapped(id);
    else if (mode() === "sounding" && kindOf(id) === "corners") setAt(place);
    else choose(chosen === id ? null : id);
  },
  tappedAt: setAt,
  cancelled() {
    drawn = past.now;
    shown();
    ask(drawn);
  },
});

// --- keys, buttons, fields
function takeAway(id) {
  if (pending && id === pending.id) {
    choose(null);
    return;
  }
  const kind = kindOf(id);
  const rest = past.now[kind].filter((item) => item.id !== id);
  if (kind === "corners" && rest.length < 3 && data.saved.corners.length) {
    wrong("Three corners must stay.");
    return;
  }
  if (chosen === id) chosen = null;
  step({ ...past.now, [kind]: rest }, { told: kind === "corners" ? "The corner is taken away." : "The sounding is taken away." });
}

view.svg.addEventListener("keydown", (event) => {
  const handle = event.target.closest(".handle");
  if (!handle) return;
  const id = handle.dataset.name;
  const arrow = ARROWS[event.key];
  if (arrow) {
    event.preventDefault();
    const by_m = size_m() * (event.shiftKey ? 5 : 1);
    move(id, arrow[0] * by_m, arrow[1] * by_m);
  } else if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    if (mode() === "wall") {
      walls.tapped(id);
      return;
    }
    choose(chosen === id ? null : id);
    if (chosen !== null) at("east").focus();
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    takeAway(id);
  } else if (event.key === "Escape") choose(null);
});

tools(past, view, back);

for (const id of ["east", "north", "depth"]) {
  at(id).addEventListener("change", () => {
    const item = chosen === null ? null : found(chosen);
    if (!item || !at(id).value.trim()) return;
    const text = at(id).value.slice(0, 40);
    if (id === "depth" || item !== pending) reading(at(id));
    if (item === pending) {
      const { depth_m, ...place } = pending;
      if (id === "depth") typed({ ...past.now, soundings: [...past.now.soundings, { ...place, depth: text }] });
      else wrong("Type the depth of the new sounding first.");
    } else typed(changedTo(past.now, chosen, { [id]: text }));
  });
}
for (const id of ["corner-lines", "sounding-lines"]) {
  at(id).addEventListener("input", () => {
    edited = true;
  });
  at(id).addEventListener("change", () => {
    reading(at(id));
    typed(past.now, { corner_lines: at("corner-lines").value, sounding_lines: at("sounding-lines").value });
  });
}
for (const button of document.querySelectorAll("#chosen [data-arrow]")) {
  button.addEventListener("click", () => move(chosen, ...ARROWS[button.dataset.arrow].map((way) => way * size_m())));
}
at("take-away").addEventListener("click", () => takeAway(chosen));
at("leave").addEventListener("click", () => choose(null));
at("shore-form").addEventListener("submit", (event) => {
  if (heldBack(event)) return;
  if (pending) {
    event.preventDefault();
    wrong("The new sounding has no depth yet: type it, or take it away.");
    at("depth").focus();
    return;
  }
  // lines that were not read yet are read by the server
  at("sketch").value = edited ? "" : JSON.stringify(sent(past.now));
});

for (const id of ["tools", "hint"]) at(id).hidden = false;
if (!data.saved.corners.length && !past.now.corners.length) document.querySelector("input[name=tap][value=corner]").checked = true;
drawn = past.now;
if (at("wall-lines")) {
  walls = new Walls(view, words, { corners: () => drawn.corners, isSaved: () => !past.changed && !data.changed && !edited, press: (id) => view.press(id) });
  for (const button of document.querySelectorAll("input[name=tap]")) {
    button.addEventListener("change", () => {
      choose(null);
      walls.leave("");
    });
  }
}
if (!data.changed) lined();
shown();
if (past.changed && !data.changed) ask(past.now);
document.documentElement.dataset.ready = "shore";
