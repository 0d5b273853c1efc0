// Which words of a drawing are shown: none is drawn over another, the more important one stays.

const LETTER = 0.6; // about how wide a digit or a small letter is, in heights of the writing
const ROOM = 1.15; // a line's height, in heights of the writing

/** The box of a text that begins, is centred or ends at a place of the paper. */
export function boxOf(words, x, y, size, anchor = "start") {
  const wide = words.length * LETTER * size;
  const left = x - { start: 0, middle: wide / 2, end: wide }[anchor];
  return { left, right: left + wide, top: y - 0.95 * size, bottom: y + (ROOM - 0.95) * size };
}

const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Show each label, the most important first, where it meets none of those shown before it and nothing that it must stand
 *  beside: at the first of its places that is free, whose number `show` is told, or nowhere (-1), but for one that is `always`
 *  shown; `taken` is there already. */
export function thinned(labels, taken = []) {
  const there = [...taken];
  for (const { boxes, beside = [], always = false, show } of labels) {
    const free = boxes.findIndex((box) => ![...there, ...beside].some((other) => meet(box, other)));
    const place = free < 0 && always ? 0 : free;
    if (place >= 0) there.push(boxes[place]);
    show(place);
  }
}

/** A line that is drawn as wide as `wide`, as boxes that a label must stand beside. */
export function boxesAlong(way, wide) {
  const found = [];
  for (let n = 1; n < way.length; n += 1) {
    const [[x, y], [u, v]] = [way[n - 1], way[n]];
    const steps = Math.max(1, Math.ceil(Math.hypot(u - x, v - y) / wide));
    for (let k = 0; k <= steps; k += 1) {
      const at = [x + ((u - x) * k) / steps, y + ((v - y) * k) / steps];
      found.push({ left: at[0] - wide / 2, right: at[0] + wide / 2, top: at[1] - wide / 2, bottom: at[1] + wide / 2 });
    }
  }
  return found;
}
