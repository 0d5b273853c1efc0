// The plan page: every move changes the sketch; the server works it through, one question at a time, the latest wins.
import { Past } from "./past.js";
import { under } from "./under.js";
import { View } from "./view.js";

const data = JSON.parse(document.getElementById("data").textContent);
const at = (id) => document.getElementById(id);
const stripped = (sketch) => ({
  manifold: { x_m: sketch.manifold.x_m, y_m: sketch.manifold.y_m },
  diffusers: sketch.diffusers.map(({ name, x_m, y_m }) => ({ name, x_m, y_m })),
});

under(at("plan").querySelector("svg"), data.aerial, at("photo-on"));
// a narrow screen shows the pond alone; the key comes into view by moving the drawing aside
const view = new View(at("plan"), data.frame, innerWidth < 640 ? data.key_mm : 0);
const saved = stripped(data.sketch);
const past = new Past(data.pond, data.number, saved, data.plane);
if (data.changed) past.now = saved; // the server sent a sketch that it could not keep
let answer = data.answer;
let drawn = past.now;
let asking = false;
let waiting = null;
let chosen = null;

const clone = (sketch) => structuredClone(sketch);
const placeOf = (sketch, name) => (name ? sketch.diffusers.find((item) => item.name === name) : sketch.manifold);
const called = (name) => name || "manifold";

function wrong(words) {
  at("wrong").textContent = words;
  at("wrong").hidden = !words;
}

function shown() {
  rowed();
  view.place(drawn, answer);
  at("undo").disabled = !past.done.length;
  at("redo").disabled = !past.undone.length;
  const unsaved = past.changed || data.changed;
  at("unsaved").hidden = !unsaved;
  at("forget").hidden = !unsaved;
}

function filled() {
  if (!answer) return;
  for (const row of document.querySelectorAll("#places tbody tr")) {
    const found = row.dataset.name ? answer.diffusers.find((item) => item.name === row.dataset.name) : answer.manifold;
    if (!found) continue;
    const [east, north] = row.querySelectorAll("input.place");
    if (document.activeElement !== east) east.value = found.said.east;
    if (document.activeElement !== north) north.value = found.said.north;
    for (const cell of row.querySelectorAll("[data-key]")) cell.textContent = found.said[cell.dataset.key] || "";
  }
  at("sums").replaceChildren(...answer.sums.map(([name, value]) => {
    const line = document.createElement("div");
    const dt = document.createElement("dt");
    const dd = document.createElement("dd");
    dt.textContent = name;
    dd.textContent = value;
    line.append(dt, dd);
    return line;
  }));
  at("notices").replaceChildren(...answer.notices.map((notice) => {
    const line = document.createElement("p");
    line.className = `notice ${notice.severity}`;
    const strong = document.createElement("strong");
    strong.textContent = `${notice.severity[0].toUpperCase()}${notice.severity.slice(1)}:`;
    line.append(strong, ` ${notice.text}`);
    return line;
  }));
}

// ask the server; while it answers, only the latest sketch waits
async function ask(sketch, { typed = false, told = "" } = {}) {
  if (asking) {
    waiting = [sketch, { typed, told }];
    return;
  }
  asking = true;
  try {
    const began = performance.now();
    const reply = await fetch(`/ponds/${encodeURIComponent(data.pond)}/sketch`, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Plumeline": "1", Accept: "application/json" },
      body: JSON.stringify({ revision_number: data.number, ...sketch }),
    });
    const found = (reply.headers.get("content-type") || "").includes("json") ? await reply.json() : null;
    if (reply.ok) {
      wrong("");
      answer = found.answer;
      if (typed) step(stripped(found.sketch), { quiet: true });
      at("plan").dataset.tookMs = (performance.now() - began).toFixed(0);
      at("plan").dataset.serverMs = found.server_ms;
      if (found.latest_revision_number > data.number) wrong(`Revision ${found.latest_revision_number} was saved in between; what you place is kept here, and both are shown when you save.`);
      filled();
      shown();
      if (told) at("told").textContent = told();
    } else wrong((found && found.detail) || "The server can't work this through; nothing is lost here.");
  } catch {
    wrong("The server does not answer. What you moved is kept in this browser; it is worked through when the server is back.");
  } finally {
    asking = false;
    if (waiting) {
      const [next, how] = waiting;
      waiting = null;
      ask(next, how);
    }
  }
}

function step(next, { quiet = false, told = "" } = {}) {
  if (!past.step(next)) wrong("This browser keeps nothing: a reload would lose what is not saved.");
  drawn = next;
  shown();
  if (!quiet) ask(next, { told });
}

function move(name, dx_m, dy_m) {
  const next = clone(past.now);
  const place = placeOf(next, name);
  place.x_m += dx_m;
  place.y_m += dy_m;
  step(next, { told: () => told(name) });
}

function told(name) {
  const found = name ? answer.diffusers.find((item) => item.name === name) : answer.manifold;
  if (!found) return "";
  const deep = found.said.depth ? `, ${found.said.depth} deep, ${found.said.flow}, ${found.said.pressure}` : "";
  return `${called(name)} at ${found.said.east} east, ${found.said.north} north${deep}.`;
}

function back(did) {
  if (!did) return;
  drawn = past.now;
  shown();
  ask(past.now);
}

function choose(name) {
  chosen = name;
  view.press(name);
  if (name !== null) at("told").textContent = `${called(name)} is chosen: tap where it shall lie.`;
}

// --- pointers: drag, tap, pan, pinch
const fingers = new Map();
let drag = null;
let frame = 0;

view.svg.addEventListener("pointerdown", (event) => {
  fingers.set(event.pointerId, event);
  view.svg.setPointerCapture(event.pointerId);
  if (fingers.size > 1) {
    if (drag && drag.name !== null) drawn = past.now;
    drag = null;
    shown();
    return;
  }
  const name = view.nearest(event);
  drag = { name, from: event, moved: false, start: name === null ? null : view.fromScreen(event), last: event };
  if (name !== null) view.byName.get(name).group.focus({ preventScroll: true });
});

view.svg.addEventListener("pointermove", (event) => {
  if (!fingers.has(event.pointerId)) return;
  if (fingers.size === 2) pinched(event);
  else if (drag) dragged(event);
  fingers.set(event.pointerId, event);
});

function pinched(event) {
  const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
  const before = fingers.get(event.pointerId);
  const far = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
  if (far(before) > 0) view.zoom(far(event) / far(before), view.paper(other));
}

function dragged(event) {
  if (!drag.moved && Math.hypot(event.clientX - drag.from.clientX, event.clientY - drag.from.clientY) < 4) return;
  drag.moved = true;
  if (drag.name === null) {
    view.pan(event.clientX - drag.last.clientX, event.clientY - drag.last.clientY);
    drag.last = event;
    return;
  }
  drag.last = event;
  if (!frame) frame = requestAnimationFrame(follow);
}

function follow() {
  frame = 0;
  if (!drag || drag.name === null) return;
  const here = view.fromScreen(drag.last);
  const next = clone(past.now);
  const place = placeOf(next, drag.name);
  place.x_m += here.x_m - drag.start.x_m;
  place.y_m += here.y_m - drag.start.y_m;
  drawn = next;
  view.place(drawn, answer);
  ask(next);
}

function lifted(event) {
  fingers.delete(event.pointerId);
  const was = drag;
  drag = null;
  if (!was) return;
  if (was.moved && was.name !== null) {
    if (frame) cancelAnimationFrame(frame);
    frame = 0;
    drag = { ...was, last: event };
    const here = view.fromScreen(event);
    drag = null;
    move(was.name, here.x_m - was.start.x_m, here.y_m - was.start.y_m);
    choose(null);
  } else if (!was.moved && was.name !== null) choose(chosen === was.name ? null : was.name);
  else if (!was.moved && chosen !== null) {
    const here = view.fromScreen(event);
    const place = placeOf(past.now, chosen);
    move(chosen, here.x_m - place.x_m, here.y_m - place.y_m);
    choose(null);
  }
}

view.svg.addEventListener("pointerup", lifted);
view.svg.addEventListener("pointercancel", (event) => {
  fingers.delete(event.pointerId);
  drag = null;
  drawn = past.now;
  shown();
});
view.svg.addEventListener("wheel", (event) => {
  event.preventDefault();
  view.zoom(event.deltaY < 0 ? 1.25 : 0.8, view.paper(event));
}, { passive: false });

// --- keys and buttons
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
const size_m = () => Number(at("step").value);

view.svg.addEventListener("keydown", (event) => {
  const handle = event.target.closest(".handle");
  if (!handle) return;
  const name = handle.dataset.name;
  const arrow = ARROWS[event.key];
  if (arrow) {
    event.preventDefault();
    const by_m = size_m() * (event.shiftKey ? 5 : 1);
    move(name, arrow[0] * by_m, arrow[1] * by_m);
  } else if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    choose(chosen === name ? null : name);
  } else if (event.key === "Escape") choose(null);
});

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, textarea")) return;
  const key = event.key.toLowerCase();
  if (key === "z" || key === "y") {
    event.preventDefault();
    back(key === "y" || event.shiftKey ? past.redo() : past.undo());
  }
});

at("undo").addEventListener("click", () => back(past.undo()));
at("redo").addEventListener("click", () => back(past.redo()));
at("closer").addEventListener("click", () => view.zoom(1.5));
at("farther").addEventListener("click", () => view.zoom(1 / 1.5));
at("whole").addEventListener("click", () => view.all());
at("forget").addEventListener("click", () => {
  past.forget();
  location.assign(location.pathname);
});

// one row of the table for each thing of the sketch; the server's rows serve as the pattern
function wired(row) {
  const name = row.dataset.name;
  for (const [words, arrow, way] of [["←", "ArrowLeft", "west"], ["→", "ArrowRight", "east"], ["↑", "ArrowUp", "north"], ["↓", "ArrowDown", "south"]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.setAttribute("aria-label", `${called(name)} to the ${way}`);
    button.addEventListener("click", () => move(name, ARROWS[arrow][0] * size_m(), ARROWS[arrow][1] * size_m()));
    row.querySelector(".nudges").append(button);
  }
  if (name) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "away";
    button.textContent = "Take away";
    button.setAttribute("aria-label", `Take ${name} away`);
    button.addEventListener("click", () => {
      if (past.now.diffusers.length === 1) return wrong("One diffuser must stay.");
      const next = clone(past.now);
      next.diffusers = next.diffusers.filter((item) => item.name !== name);
      return step(next, { told: () => `${name} is taken away.` });
    });
    row.querySelector(".nudges").append(button);
  }
  for (const input of row.querySelectorAll("input.place")) {
    input.addEventListener("change", () => {
      const next = clone(past.now);
      placeOf(next, name)[input.name.startsWith("east") ? "east" : "north"] = input.value;
      ask(next, { typed: true, told: () => told(name) });
    });
  }
}

function rowed() {
  const body = document.querySelector("#places tbody");
  const rows = new Map([...body.rows].map((row) => [row.dataset.name, row]));
  for (const [name, row] of rows) if (name && !placeOf(past.now, name)) row.remove();
  for (const { name } of past.now.diffusers) {
    if (rows.has(name)) continue;
    const row = body.rows[body.rows.length - 1].cloneNode(true);
    row.dataset.name = name;
    row.querySelector("th").firstChild.textContent = name;
    row.querySelector("th input").value = name;
    row.querySelector(".nudges").replaceChildren();
    for (const cell of row.querySelectorAll("[data-key]")) cell.textContent = "";
    for (const input of row.querySelectorAll("input.place")) input.setAttribute("aria-label", `${name}, ${input.name.replace(/\d+/, "")} of the middle, with its unit`);
    body.append(row);
    wired(row);
  }
}

at("add").addEventListener("click", () => {
  const names = new Set(past.now.diffusers.map((item) => item.name));
  let name = "";
  for (let n = 0; !name || names.has(name); n += 1) name = n < 26 ? String.fromCharCode(65 + n) : `D${n}`;
  const next = clone(past.now);
  next.diffusers.push({ name, ...data.deepest });
  step(next, { told: () => told(name) });
  choose(name);
});

for (const row of document.querySelectorAll("#places tbody tr")) wired(row);

at("plan-form").addEventListener("submit", () => {
  at("sketch").value = JSON.stringify({ revision_number: data.number, ...past.now });
  // once the server has kept it, the next page is of another revision and does not take this up
});

for (const id of ["tools", "hint", "step-choice"]) at(id).hidden = false;
if (past.stale && !data.changed) {
  const old = past.stale.now;
  past.stale = null;
  if (JSON.stringify(old) !== JSON.stringify(saved)) {
    const take = document.createElement("button");
    take.type = "button";
    take.textContent = "Take up what I placed on an older revision";
    take.addEventListener("click", () => {
      step(old);
      take.remove();
    });
    at("forget").after(take);
  }
}
drawn = past.now;
shown();
if (past.changed) ask(past.now);
document.documentElement.dataset.ready = "plan";
