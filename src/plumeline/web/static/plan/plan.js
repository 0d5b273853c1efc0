// The plan page: every move changes the sketch; the server works it through, one question at a time, the latest wins.
import { Asking } from "./asking.js";
import { hands } from "./hands.js";
import { ARROWS, at, data, filledIn, heldBack, kept, mended, reading, refusedText, size_m, stepsShown, tookNote, tools, understood, wrong } from "./page.js";
import { Past } from "./past.js";
import { under } from "./under.js";
import { View } from "./view.js";

const stripped = (sketch) => ({
  manifold: { x_m: sketch.manifold.x_m, y_m: sketch.manifold.y_m },
  diffusers: sketch.diffusers.map(({ name, x_m, y_m, bends }) => ({ name, x_m, y_m, bends: (bends || []).map((bend) => ({ x_m: bend.x_m, y_m: bend.y_m })) })),
});

under(at("plan").querySelector("svg"), data);
// a narrow screen shows the pond alone; the key, which would be too small there, comes into view by moving the drawing aside
const WITH_KEY_PX = 860;
const view = new View(at("plan"), data.frame, at("plan").clientWidth < WITH_KEY_PX ? data.key_mm : 0, data.most_bends);
const saved = stripped(data.sketch);
const past = new Past(data.pond, data.number, saved, data.plane);
for (const kept of [past.now, ...past.done, ...past.undone, ...(past.stale ? [past.stale.now] : [])]) for (const item of kept.diffusers) item.bends ||= [];
if (data.changed) past.now = saved; // the server sent a sketch that it could not keep
let answer = data.answer;
let drawn = past.now;
let chosen = null;

const clone = (sketch) => structuredClone(sketch);
// a key names the manifold (""), a diffuser ("A"), a bend of its line ("A\n0") or where a bend of it begins ("A\n+0")
const itemOf = (sketch, name) => sketch.diffusers.find((item) => item.name === name);
function placeOf(sketch, key) {
  const [name, bend] = key.split("\n");
  if (bend === undefined) return name ? itemOf(sketch, name) : sketch.manifold;
  return bend.startsWith("+") ? view.grasped : itemOf(sketch, name)?.bends[Number(bend)];
}
function called(key) {
  const [name, bend] = key.split("\n");
  if (bend === undefined) return name || "manifold";
  return bend.startsWith("+") ? `the line of ${name}` : `bend ${Number(bend) + 1} of the line of ${name}`;
}
// where a bend begins is its key once it is there
const begun = (key) => key.replace("\n+", "\n");

const asking = new Asking(`/ponds/${encodeURIComponent(data.pond)}/sketch`, {
  answered(found, { typed, told: words }, took_ms) {
    wrong("");
    mended();
    answer = found.answer;
    if (typed) understood();
    if (typed) step(stripped(found.sketch), { quiet: true });
    tookNote(found, took_ms, "what you place");
    filled();
    shown();
    if (words) at("told").textContent = words();
  },
  refused(status, words, { typed } = {}) {
    if (typed) refusedText(words);
    wrong(words);
  },
  silent() {
    wrong("The server does not answer. What you moved is kept in this browser; it is worked through when the server is back.");
  },
});
const ask = (sketch, how) => asking.ask({ revision_number: data.number, ...sketch }, how);

function shown() {
  rowed();
  view.place(drawn, answer);
  stepsShown(past);
}

function filled() {
  if (!answer) return;
  for (const row of document.querySelectorAll("#places tbody tr")) {
    const found = row.dataset.name ? answer.diffusers.find((item) => item.name === row.dataset.name) : answer.manifold;
    if (!found) continue;
    const [east, north] = row.querySelectorAll("input.place");
    if (document.activeElement !== east) east.value = found.said.east;
    if (document.activeElement !== north) north.value = found.said.north;
    const through = row.querySelector("input.through");
    if (through && document.activeElement !== through) through.value = found.said.through;
    for (const cell of row.querySelectorAll("[data-key]")) cell.textContent = found.said[cell.dataset.key] || "";
  }
  filledIn(answer);
}

function step(next, { quiet = false, told = "" } = {}) {
  kept(past, next);
  drawn = next;
  shown();
  if (!quiet) ask(next, { told });
}

function moved(name, dx_m, dy_m) {
  const next = clone(past.now);
  const [of, bend] = name.split("\n");
  if (bend?.startsWith("+")) {
    itemOf(next, of).bends.splice(Number(bend), 0, { x_m: view.grasped.x_m + dx_m, y_m: view.grasped.y_m + dy_m });
    return next;
  }
  const place = placeOf(next, name);
  place.x_m += dx_m;
  place.y_m += dy_m;
  return next;
}

function move(name, dx_m, dy_m) {
  step(moved(name, dx_m, dy_m), { told: () => told(begun(name)) });
}

function told(name) {
  const [of, bend] = name.split("\n");
  if (bend !== undefined) {
    const row = answer.diffusers.find((item) => item.name === of);
    const said = row?.said.through.split("; ")[Number(bend)];
    return said ? `${called(name)} at ${said}; line to cut ${row.said.cut}.` : "";
  }
  const found = name ? answer.diffusers.find((item) => item.name === name) : answer.manifold;
  if (!found) return "";
  const deep = found.said.depth ? `, ${found.said.depth} deep, ${found.said.flow}, ${found.said.pressure}` : "";
  return `${called(name)} at ${found.said.east} east, ${found.said.north} north${deep}.`;
}

function back(did) {
  if (!did) return;
  understood();
  drawn = past.now;
  shown();
  ask(past.now);
}

function choose(name) {
  chosen = name;
  view.press(name);
  if (name !== null) at("told").textContent = `${called(name)} is chosen: tap where it shall lie.`;
}

hands(view, {
  dragged(name, dx_m, dy_m) {
    drawn = moved(name, dx_m, dy_m);
    view.place(drawn, answer);
    ask(drawn);
  },
  dropped(name, dx_m, dy_m) {
    move(name, dx_m, dy_m);
    choose(null);
  },
  tapped(name, here) {
    // a tap on a line while something is chosen means the place, not the line
    if (name.includes("\n+") && chosen !== null) return this.tappedAt(here);
    return choose(chosen === name ? null : name);
  },
  tappedAt(here) {
    if (chosen === null) return;
    const place = placeOf(past.now, chosen);
    if (place) move(chosen, here.x_m - place.x_m, here.y_m - place.y_m);
    choose(null);
  },
  cancelled() {
    drawn = past.now;
    shown();
  },
});

// --- keys and buttons
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
  } else if ((event.key === "Delete" || event.key === "Backspace") && name.includes("\n")) {
    event.preventDefault();
    const [of, bend] = name.split("\n");
    const next = clone(past.now);
    itemOf(next, of).bends.splice(Number(bend), 1);
    step(next, { told: () => `${called(name)} is taken out.` });
    view.byName.get(of).group.focus();
  } else if (event.key === "Escape") choose(null);
});

tools(past, view, back);

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
  const button = (words, label, does) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "away";
    made.textContent = words;
    made.setAttribute("aria-label", label);
    made.addEventListener("click", does);
    row.querySelector(".nudges").append(made);
  };
  if (name) {
    button("Bend line", `Bend the line of ${name}`, () => {
      if (itemOf(past.now, name).bends.length >= data.most_bends) return wrong(`The line of ${name} has ${data.most_bends} bends already.`);
      const key = view.graspMiddle(name);
      move(key, 0, 0);
      choose(begun(key));
      return view.byName.get(begun(key)).group.focus();
    });
    button("Unbend", `Take the bends out of the line of ${name}`, () => {
      if (!itemOf(past.now, name).bends.length) return wrong(`The line of ${name} has no bend.`);
      const next = clone(past.now);
      itemOf(next, name).bends = [];
      return step(next, { told: () => `The line of ${name} takes the shortest way.` });
    });
    button("Take away", `Take ${name} away`, () => {
      if (past.now.diffusers.length === 1) return wrong("One diffuser must stay.");
      const next = clone(past.now);
      next.diffusers = next.diffusers.filter((item) => item.name !== name);
      return step(next, { told: () => `${name} is taken away.` });
    });
  }
  const through = row.querySelector("input.through");
  through?.addEventListener("change", () => {
    const next = clone(past.now);
    itemOf(next, name).through = through.value;
    reading(through);
    ask(next, { typed: true, told: () => told(name) });
  });
  for (const input of row.querySelectorAll("input.place")) {
    input.addEventListener("change", () => {
      const next = clone(past.now);
      placeOf(next, name)[input.name.startsWith("east") ? "east" : "north"] = input.value;
      reading(input);
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
    row.querySelector("input.through").value = "";
    row.querySelector("input.through").setAttribute("aria-label", `${name}, its line is led through`);
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
  next.diffusers.push({ name, ...data.deepest, bends: [] });
  step(next, { told: () => told(name) });
  choose(name);
});

for (const row of document.querySelectorAll("#places tbody tr")) wired(row);

at("plan-form").addEventListener("submit", (event) => {
  if (heldBack(event)) return;
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
