// The aerial photo under a plan whose water lets it through; a button takes it away and brings it back.
const SVG = "http://www.w3.org/2000/svg";
const KEY = "plumeline photo off";

export function under(svg, aerial, button) {
  if (!aerial) return;
  const [sheet, ...rest] = [...svg.children].filter((item) => !["title", "desc"].includes(item.nodeName));
  const photo = document.createElementNS(SVG, "image");
  const values = { href: aerial.href, width: aerial.width_px, height: aerial.height_px, transform: `matrix(${aerial.matrix.join(" ")})`, preserveAspectRatio: "none" };
  for (const [key, value] of Object.entries(values)) photo.setAttribute(key, value);
  const water = document.createElementNS(SVG, "g");
  water.append(...rest);
  sheet.after(photo, water);
  const set = (isOn) => {
    photo.style.display = isOn ? "" : "none";
    water.style.opacity = isOn ? "0.5" : "";
    button.setAttribute("aria-pressed", String(isOn));
    try {
      localStorage.setItem(KEY, isOn ? "" : "off");
    } catch {
      // storage is off: it is on again after a reload
    }
  };
  let off = "";
  try {
    off = localStorage.getItem(KEY) || "";
  } catch {
    off = "";
  }
  button.hidden = false;
  button.addEventListener("click", () => set(photo.style.display === "none"));
  set(off !== "off");
}
