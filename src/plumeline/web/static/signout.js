// Says before signing out how many readings wait on this phone; with none, the browser may let go of what it kept.
import { all } from "./capture/keep.js";

const waiting = (await all("outbox")).length;
document.getElementById("unsent_count").value = String(waiting);
if (waiting) {
  const box = document.getElementById("unsent");
  box.textContent = `${waiting} reading${waiting === 1 ? "" : "s"} on this phone ${waiting === 1 ? "is" : "are"} not handed over yet.`;
  box.hidden = false;
}
