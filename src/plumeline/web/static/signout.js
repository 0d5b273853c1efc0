// Says before signing out what waits on this phone: to be handed over, written to a file, or discarded by typing the word for it.
import { release } from "./capture/keep.js";
import { allTold, toFile } from "./capture/told.js";

const WORD = "discard";
const at = (id) => document.getElementById(id);
let shown = [];

function say(words) {
  at("said").textContent = words;
}

async function show() {
  shown = await allTold();
  const count = shown.length;
  // with none, the browser may let go of what it kept
  at("unsent_count").value = String(count);
  at("unsent").hidden = !count;
  if (!count && !at("said").textContent) say("Nothing waits on this phone.");
  at("unsent-count").textContent = `${count} reading${count === 1 ? "" : "s"} on this phone ${count === 1 ? "is" : "are"} not handed over yet.`;
  at("unsent-list").replaceChildren(...shown.map(({ words }) => {
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
  const gone = shown;
  try {
    for (const { one } of gone) await release(one.id, one.photos);
    say(`Discarded: ${gone.length} reading${gone.length === 1 ? "" : "s"}.`);
    field.value = "";
  } catch (error) {
    say(`Not all discarded: ${error.message}`);
  }
  await show();
});

await show();
document.documentElement.dataset.ready = "signout";
