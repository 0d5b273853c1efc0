// Shows how far a run is, and loads the page again at its end. Without this script the page reloads itself.
"use strict";
const box = document.querySelector("[data-events]");
if (box) {
  const doing = box.querySelector(".doing");
  const share = box.querySelector("progress");
  const source = new EventSource(box.dataset.events);
  source.onmessage = (event) => {
    const run = JSON.parse(event.data);
    if (doing.textContent !== run.doing) doing.textContent = run.doing;
    share.value = run.share_fraction;
    if (["done", "failed", "cancelled"].includes(run.state)) {
      source.close();
      location.reload();
    }
  };
}
