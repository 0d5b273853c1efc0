// The aerial photo: a tap on it and a tap on the plan make a line of the text; the server lays it by the lines.
// Each line's point stands on both pictures under its number.
import { under } from "./under.js";

const SVG = "http://www.w3.org/2000/svg";
const RADIUS_PX = 12;
const FOOT_M = 0.3048;
const data = JSON.parse(document.getElementById("data").textContent);
const at = (id) => document.getElementById(id);
const words = (value_m) => (data.units === "us" ? `${(value_m / FOOT_M).toFixed(1)} ft` : `${value_m.toFixed(2)} m`);
let pixel = null;

// metres of a length as this page writes it; what else may be typed is read by the server alone
function metres(text) {
  const found = /^(-?\d+(?:\.\d+)?)\s*(ft|m)$/.exec((text || "").trim());
  return found ? Number(found[1]) * (found[2] === "ft" ? FOOT_M : 1) : NaN;
}

function mark(svg, x, y, number) {
  if (!Number.isFinite(x) || !Number.isFinite(y)) return;
  const size = (RADIUS_PX * svg.viewBox.baseVal.width) / (svg.clientWidth || 1);
  const group = document.createElementNS(SVG, "g");
  group.setAttribute("class", "known");
  const circle = document.createElementNS(SVG, "circle");
  const text = document.createElementNS(SVG, "text");
  for (const [key, value] of Object.entries({ cx: x, cy: y, r: size, fill: "#f4f1e8", "fill-opacity": 0.85, stroke: "#1c1c1c", "stroke-width": size / 6 })) circle.setAttribute(key, value);
  for (const [key, value] of Object.entries({ x, y: y + size * 0.42, "font-size": size * 1.2, "font-weight": "bold", "text-anchor": "middle", fill: "#1c1c1c" })) text.setAttribute(key, value);
  text.textContent = number;
  group.append(circle, text);
  svg.append(group);
}

function marked() {
  for (const old of document.querySelectorAll(".known")) old.remove();
  const f = data.frame;
  const lines = at("points").value.split("\n").filter((line) => line.trim());
  lines.forEach((line, n) => {
    const [across, down, east, north] = line.replaceAll(";", ",").split(",");
    mark(at("photo"), parseFloat(across), parseFloat(down), n + 1);
    mark(at("ground"), f.centre_x_mm + (metres(east) - f.middle_x_m) * f.scale_mm_m, f.centre_y_mm - (metres(north) - f.middle_y_m) * f.scale_mm_m, n + 1);
  });
  if (pixel) mark(at("photo"), ...pixel, lines.length + 1);
  at("back").disabled = !pixel && !lines.length;
}

const tappedOn = (svg, event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

if (at("photo")) {
  under(at("ground"), data);
  at("hint").hidden = false;
  at("back").hidden = false;
  at("photo").addEventListener("click", (event) => {
    const point = tappedOn(at("photo"), event);
    pixel = [Math.round(point.x), Math.round(point.y)];
    marked();
    at("hint").textContent = `${pixel.join(" across, ")} down: now tap the same place on the plan.`;
  });
  at("ground").addEventListener("click", (event) => {
    if (!pixel) {
      at("hint").textContent = "Tap the place on the photo first.";
      return;
    }
    const point = tappedOn(at("ground"), event);
    const f = data.frame;
    const east_m = f.middle_x_m + (point.x - f.centre_x_mm) / f.scale_mm_m;
    const north_m = f.middle_y_m - (point.y - f.centre_y_mm) / f.scale_mm_m;
    const text = at("points").value.trimEnd();
    at("points").value = `${text ? `${text}\n` : ""}${pixel.join(", ")}, ${words(east_m)}, ${words(north_m)}\n`;
    pixel = null;
    marked();
    at("hint").textContent = "Kept as a line below. Tap the next place on the photo, or lay the photo.";
  });
  at("back").addEventListener("click", () => {
    if (!pixel) at("points").value = at("points").value.trimEnd().split("\n").slice(0, -1).map((line) => `${line}\n`).join("");
    pixel = null;
    marked();
    at("hint").textContent = "Taken back. Tap a place on the photo, then the same place on the plan.";
  });
  at("points").addEventListener("input", marked);
  addEventListener("resize", marked);
  marked();
}
document.documentElement.dataset.ready = "aerial";
