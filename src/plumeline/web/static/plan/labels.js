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

/** Show each label, the most important first, that meets none of those shown before it and nothing that it must stand
 *  beside; `taken` is there already. */
export function thinned(labels, taken = []) {
  const there = [...taken];
  for (const { box, beside = [], show } of labels) {
    const free = ![...there, ...beside].some((other) => meet(box, other));
    if (free) there.push(box);
    show(free);
  }
}
