// What the pages of plan and shore have in common: their words, sums and notices, steps back and forth, and the look at the drawing.
export const at = (id) => document.getElementById(id);
export const data = JSON.parse(at("data").textContent);
export const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
export const size_m = () => Number(at("step").value);

// what goes wrong under a hand is said under the drawing, which must not slip away from the finger
if (!at("wrong").textContent.trim()) at("plan").after(at("wrong"));

export function wrong(words) {
  if (at("wrong").textContent === words) return;
  at("wrong").textContent = words;
  at("wrong").hidden = !words;
}

let unread = null; // the field whose text the server has not understood, or not read yet

/** What was typed into a field goes to the server. */
export function reading(field) {
  understood();
  unread = { field, words: "" };
}

export function understood() {
  if (unread) saidAt(unread.field, "");
  unread = null;
}

export function refusedText(words) {
  if (!unread) return;
  unread.words = words;
  saidAt(unread.field, words);
}

/** Say at a field what is wrong with it: on a phone the words under the drawing are a screen away. */
function saidAt(field, words) {
  field.nextElementSibling?.matches(".wrong-here") && field.nextElementSibling.remove();
  if (!words) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
    return;
  }
  const told = document.createElement("span");
  told.className = "wrong-here";
  told.id = `${field.id || field.name}-wrong`;
  told.textContent = words;
  field.after(told);
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", told.id);
}

const refused = [...document.querySelectorAll("#places .wrong-here")];

/** What the server refused with the page was mended: its words at the fields and above go. */
export function mended() {
  at("summary")?.remove();
  for (const told of refused.splice(0)) if (told.isConnected) saidAt(told.previousElementSibling, "");
}

/** Hold a save back while something typed was not understood: it would be dropped. */
export function heldBack(event) {
  // lines of text that wait for their answer go along with the save as they are
  if (!unread || (!unread.words && unread.field.tagName === "TEXTAREA")) return false;
  event.preventDefault();
  wrong(unread.words ? `Not saved. ${unread.words} Mend it, or put the old value back.` : "Not saved yet: what you typed is still being read. Save again.");
  unread.field.focus();
  unread.field.scrollIntoView({ block: "center" });
  return true;
}

/** Tell how long an answer took, and whether somebody saved in between; `kept` says what is still here. */
export function tookNote(found, took_ms, kept) {
  at("plan").dataset.tookMs = took_ms.toFixed(0);
  at("plan").dataset.serverMs = found.server_ms;
  if (found.latest_revision_number > data.number) wrong(`Revision ${found.latest_revision_number} was saved in between; ${kept} is kept here, and both are shown when you save.`);
}

/** Show sums and notices; what says the same as before is not touched, for under a hand this comes with every answer. */
export function filledIn(answer) {
  summed(answer.sums);
  const words = answer.notices.map((notice) => `${notice.severity} ${notice.text}`).join("\n");
  if (at("notices").dataset.words === words) return;
  at("notices").dataset.words = words;
  at("notices").replaceChildren(...answer.notices.map((notice) => {
    const line = document.createElement("p");
    line.className = `notice ${notice.severity}`;
    const strong = document.createElement("strong");
    strong.textContent = `${notice.severity[0].toUpperCase()}${notice.severity.slice(1)}:`;
    line.append(strong, ` ${notice.text}`);
    return line;
  }));
}

/** Show the sums that the survey alone gives; what layout and air say stays, and stays marked, until they follow. */
export function firstFilledIn(answer) {
  if (!at("sums").children.length) summed(answer.sums);
  const known = new Map(answer.sums);
  for (const line of at("sums").children) {
    const [dt, dd] = line.children;
    const value = known.get(dt.textContent);
    line.classList.toggle("surveyed", value !== undefined);
    if (value !== undefined && dd.textContent !== value) dd.textContent = value;
  }
}

export const ALL = "all";
export const DRAWN_AND_LAID_OUT = "drawn laid-out";
export const LAID_OUT = "laid-out";
export const NOTHING = "";

/** Mark which numbers are still those of before the last move: all, those of layout and air, none. */
export function before(what) {
  if ((document.body.dataset.before || "") !== what) document.body.dataset.before = what;
}

function summed(sums) {
  const lines = [...at("sums").children];
  const said = (line) => line.querySelector("dt").textContent;
  if (lines.length !== sums.length || sums.some(([name], n) => said(lines[n]) !== name)) {
    at("sums").replaceChildren(...sums.map(([name]) => {
      const line = document.createElement("div");
      const dt = document.createElement("dt");
      dt.textContent = name;
      line.append(dt, document.createElement("dd"));
      return line;
    }));
  }
  sums.forEach(([, value], n) => {
    const dd = at("sums").children[n].querySelector("dd");
    if (dd.textContent !== value) dd.textContent = value;
  });
}

export function stepsShown(past) {
  at("undo").disabled = !past.done.length;
  at("redo").disabled = !past.undone.length;
  const unsaved = past.changed || data.changed;
  at("unsaved").hidden = !unsaved;
  at("forget").hidden = !unsaved;
}

/** Keep a step; says so where the browser keeps nothing. */
export function kept(past, next) {
  if (!past.step(next)) wrong("This browser keeps nothing: a reload would lose what is not saved.");
}

export function tools(past, view, back) {
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("input[type=text], textarea")) return;
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
}
