// The aerial photo: a tap on it and a tap on the plan make a line of the text; the server lays it by the lines.
const data = JSON.parse(document.getElementById("data").textContent);
const at = (id) => document.getElementById(id);
const FOOT_M = 0.3048;
const words = (value_m) => (data.units === "us" ? `${(value_m / FOOT_M).toFixed(1)} ft` : `${value_m.toFixed(2)} m`);
let pixel = null;

if (at("photo")) {
  at("hint").hidden = false;
  at("photo").addEventListener("click", (event) => {
    const box = at("photo").getBoundingClientRect();
    pixel = [
      Math.round(((event.clientX - box.left) / box.width) * Number(at("photo").getAttribute("width"))),
      Math.round(((event.clientY - box.top) / box.height) * Number(at("photo").getAttribute("height"))),
    ];
    at("hint").textContent = `${pixel.join(" across, ")} down: now tap the same place on the plan.`;
  });
  at("ground").addEventListener("click", (event) => {
    if (!pixel) {
      at("hint").textContent = "Tap the place on the photo first.";
      return;
    }
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(at("ground").getScreenCTM().inverse());
    const f = data.frame;
    const east_m = f.middle_x_m + (point.x - f.centre_x_mm) / f.scale_mm_m;
    const north_m = f.middle_y_m - (point.y - f.centre_y_mm) / f.scale_mm_m;
    const text = at("points").value.trimEnd();
    at("points").value = `${text ? `${text}\n` : ""}${pixel.join(", ")}, ${words(east_m)}, ${words(north_m)}\n`;
    at("hint").textContent = "Kept as a line below. Tap the next place on the photo, or lay the photo.";
    pixel = null;
  });
}
document.documentElement.dataset.ready = "aerial";
