// Says before signing out what waits on this phone: to be handed over, written to a file, or discarded by typing the word for it.
import { forget, release } from "./capture/keep.js";
import { allTold, begunTold, toFile } from "./capture/told.js";

const WORD = "discard";
const at = (id) => document.getElementById(id);
let shown = [];
let begun = [];

function say(words) {
  at("said").textContent = words;
}

const readings = (count) => `${count} reading${count === 1 ? "" : "s"}`;

async function show() {
  shown = await allTold();
  begun = await begunTold();
  const count = shown.length + begun.length;
  // with none, the browser may let go of what it kept
  at("unsent_count").value = String(count);
  at("unsent").hidden = !count;
  if (!count && !at("said").textContent) say("Nothing waits on this phone.");
  at("unsent-count").textContent = `${readings(shown.length)} on this phone ${shown.length === 1 ? "is" : "are"} not handed over yet${begun.length ? `, ${begun.length} more begun` : ""}.`;
  at("unsent-list").replaceChildren(...[...shown, ...begun].map(({ words }) => {
    const line = document.createElement("li");
    line.textContent = words;
    return line;
  }));
}

at("to-file").addEventListener("click", () => toFile().then(() => say("Written to a file. The readings stay on this phone too."), (error) => say(`Not written: ${error.message}`)));

at("discard-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const field = at("word");
  const meant = field.value.trim().toLowerCase() === WORD;
  at("word-wrong").hidden = meant;
  if (meant) field.removeAttribute("aria-invalid");
  else {
    field.setAttribute("aria-invalid", "true");
    field.focus();
    return;
  }
  // those that stand in the list, and none that came meanwhile
  const [gone, left] = [shown, begun];
  let outcome;
  try {
    for (const { one } of gone) await release(one.id, one.photos);
    for (const { kind, photos } of left) await forget(kind, photos);
    outcome = `Discarded: ${readings(gone.length)}${left.length ? ` and ${left.length} begun` : ""}.`;
    field.value = "";
  } catch (error) {
    outcome = `Not all discarded: ${error.message}`;
  }
  // said once the list and the count that goes with the sign-out are those that are left
  await show();
  say(outcome);
});

await show();
document.documentElement.dataset.ready = "signout";
