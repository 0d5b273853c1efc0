// The aerial photo and map tiles under a plan whose water lets them through; a button each takes them away and brings them back.
import { laid, windowOn } from "../tiles.js";

const SVG = "http://www.w3.org/2000/svg";
const at = (id) => document.getElementById(id);

function remembered(key) {
  try {
    return localStorage.getItem(key) || "";
  } catch {
    return ""; // storage is off: it is on again after a reload
  }
}

function remember(key, value) {
  try {
    localStorage.setItem(key, value);
  } catch {
    // as above
  }
}

// the coloured areas of the water in a group of their own, before the lines and words that stay as dark as they are
function parted(ground, end_mm) {
  const water = document.createElementNS(SVG, "g");
  water.setAttribute("class", "water");
  water.append(...[...ground.children].filter((item) => item.nodeName === "path" && item.getAttribute("fill") !== "none" && item.getBBox().x < end_mm));
  ground.prepend(water);
}

/** Lay photo and tiles under a drawing; returns what must be called once its ground was drawn anew. */
export function under(svg, { aerial, tiles, key_mm = 0 }) {
  if (!aerial && !tiles) return () => {};
  const [sheet, ...rest] = [...svg.children].filter((item) => !["title", "desc"].includes(item.nodeName));
  const end_mm = svg.viewBox.baseVal.width - key_mm;
  const whole = document.createElementNS(SVG, "g");
  sheet.after(whole);
  whole.append(...rest);
  const again = () => parted(svg.querySelector("#ground") || whole, end_mm);
  again();
  const layers = [];
  const looked = () => svg.classList.toggle("seen-through", layers.some((layer) => layer.isOn && layer.isThere));
  const layer = (button, key, what) => {
    const found = { isOn: true, isThere: false };
    const set = (isOn) => {
      found.isOn = isOn;
      what.style.display = isOn ? "" : "none";
      button.setAttribute("aria-pressed", String(isOn));
      remember(key, isOn ? "" : "off");
      looked();
    };
    layers.push(found);
    whole.before(what);
    button.hidden = false;
    button.addEventListener("click", () => set(!found.isOn));
    set(remembered(key) !== "off");
    return found;
  };
  if (tiles) {
    const group = document.createElementNS(SVG, "g");
    const map = layer(at("map-on"), "plumeline map off", group);
    laid(tiles, group, at("map-missing"), () => {
      map.isThere = true;
      at("map-credit").hidden = false;
      looked();
    });
  }
  if (aerial) {
    const photo = document.createElementNS(SVG, "image");
    const values = { href: aerial.href, width: aerial.width_px, height: aerial.height_px, transform: `matrix(${aerial.matrix.join(" ")})`, preserveAspectRatio: "none" };
    for (const [key, value] of Object.entries(values)) photo.setAttribute(key, value);
    // the key beside the drawing stays clear of it
    const seen = windowOn(end_mm, svg.viewBox.baseVal.height);
    seen.append(photo);
    layer(at("photo-on"), "plumeline photo off", seen).isThere = true;
    looked();
  }
  return again;
}
