// Map tiles under a drawing: laid where the server says; those that don't come leave the plain drawing, and one line says so.
const SVG = "http://www.w3.org/2000/svg";
const PATIENCE_MS = 15000;

/** Make a window on a drawing: what reaches over its edge is cut off there. */
export function windowOn(wide, tall) {
  const found = document.createElementNS(SVG, "svg");
  for (const [key, value] of Object.entries({ x: 0, y: 0, width: wide, height: tall, viewBox: `0 0 ${wide} ${tall}`, "aria-hidden": "true" })) found.setAttribute(key, value);
  return found;
}

/** Lay tiles into a group; `first` is called once there is anything to see, `line` tells what is missing. */
export function laid(map, group, line, first = () => {}) {
  const window_ = windowOn(map.wide, map.tall);
  group.append(window_);
  let come = 0;
  let failed = 0;
  let late = false;
  const said = () => {
    const missing = late ? map.tiles.length - come : failed;
    line.hidden = !missing;
    if (missing) line.textContent = come ? `${missing} of ${map.tiles.length} map tiles did not come from ${map.host}.` : missing < map.tiles.length ? "" : `No map: ${map.host} does not answer. The drawing is whole without it.`;
    if (!line.textContent) line.hidden = true;
  };
  for (const tile of map.tiles) {
    const picture = document.createElementNS(SVG, "image");
    for (const [key, value] of Object.entries({ width: 1, height: 1, transform: `matrix(${tile.matrix.join(" ")})`, preserveAspectRatio: "none" })) picture.setAttribute(key, value);
    picture.addEventListener("load", () => {
      come += 1;
      if (come === 1) first();
      said();
    });
    picture.addEventListener("error", () => {
      failed += 1;
      picture.remove();
      said();
    });
    picture.setAttribute("href", tile.href);
    window_.append(picture);
  }
  setTimeout(() => {
    late = true;
    said();
  }, PATIENCE_MS);
}

const own = document.getElementById("map-tiles");
if (own) laid(JSON.parse(own.dataset.tiles), own, document.getElementById("map-missing"), () => document.getElementById("map-credit").removeAttribute("hidden"));
