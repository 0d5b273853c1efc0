// How a typed value will be understood, by the same rules and the same table as the server's; the text itself is what is sent.
import { KINDS } from "./units_table.js";

const VULGAR = { "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const ALIKE = { "′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "⁄": "/", "º": "°", "˚": "°", "μ": "µ", "\ufeff": "" };
const MIXED = /^([+-]?)(?:(\d+)(?:\s+|-))?(\d+)\s*\/\s*(\d+)(?![\d.,])/;
const DECIMAL = /^[+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?/;

// thousands parted by a narrow or no-break space, as they are shown, are one number; no look-behind, which phones of 2022 lack
const GROUPED_THIN = /(^|[^\d.,])([1-9]\d{0,2}(?:[\u202f\u2009\u00a0]\d{3})+)(?!\d|\s*\/\s*\d)/g;

export function tidy(text) {
  let found = text.replace(GROUPED_THIN, (_all, before, number) => before + number.replace(/\s/g, ""));
  for (const [mark, words] of Object.entries(VULGAR)) found = found.replaceAll(mark, ` ${words}`);
  for (const [mark, plain] of Object.entries(ALIKE)) found = found.replaceAll(mark, plain);
  return found.split(/\s+/).filter(Boolean).join(" ").replaceAll("''", '"');
}

function decimal(text) {
  let body = text.replace(/^[+-]+/, "");
  let power = "";
  const at = body.search(/[eE]/);
  if (at >= 0) [body, power] = [body.slice(0, at), body.slice(at)];
  if (/^(?:\d+\.?\d*|\.\d+)$/.test(body)) { /* as it is */ }
  else if (/^[1-9]\d{0,2}(?:,\d{3})+\.\d+$/.test(body)) body = body.replaceAll(",", "");
  else if (/^[1-9]\d{0,2}(?:\.\d{3})+,\d+$/.test(body)) body = body.replaceAll(".", "").replace(",", ".");
  else if (/^[1-9]\d{0,2}(?:,\d{3})+$/.test(body)) {
    if (body.split(",").length === 2) throw new Error(`'${body}' can be read as ${body.replace(",", "")} or as ${body.replace(",", ".")}.`);
    body = body.replaceAll(",", "");
  } else if (/^\d*,\d+$/.test(body)) body = body.replace(",", ".");
  else throw new Error(`'${text}' is not a number.`);
  const size = Number(body + power);
  return text.startsWith("-") ? -size : size;
}

function split(text) {
  const mixed = MIXED.exec(text);
  if (mixed) {
    const [whole, top, bottom] = [Number(mixed[2] || 0), Number(mixed[3]), Number(mixed[4])];
    if (!bottom) throw new Error(`'${text}' divides by zero.`);
    if (mixed[2] && top >= bottom) throw new Error(`'${mixed[0]}' is no mixed number.`);
    const size = whole + top / bottom;
    return [mixed[1] === "-" ? -size : size, text.slice(mixed[0].length).trim()];
  }
  const found = DECIMAL.exec(text);
  if (!found) throw new Error(`'${text}' does not start with a number.`);
  const value = decimal(found[0]);
  if (!Number.isFinite(value)) throw new Error(`'${found[0]}' is too large to be a number here.`);
  return [value, text.slice(found[0].length).trim()];
}

// a spelling without what people vary: blanks, hyphens, points, raised digits, capitals
function key(spelling) {
  let text = spelling.replaceAll("²", "2").replaceAll("³", "3").replaceAll("^", "").replaceAll("µ", "u").replaceAll("°", "deg").replaceAll("H₂O", "H2O");
  text = text.trim().replace(/\s*\/\s*/g, "/").replace(/([A-Za-z])\.(?=\s|$|\/)/g, "$1").replace(/([A-Za-z)])[\s-]+(?=[A-Za-z(])/g, "$1");
  return text.toLowerCase();
}

const INDEX = new Map();
for (const [kind, { units }] of Object.entries(KINDS))
  for (const unit of units)
    for (const spelling of unit.spellings) {
      const found = INDEX.get(key(spelling)) || [];
      if (!found.some((one) => one.unit === unit)) found.push({ kind, unit });
      INDEX.set(key(spelling), found);
    }

function unitOf(spelling, kind) {
  const found = INDEX.get(key(spelling)) || [];
  const same = found.find((one) => one.kind === kind);
  if (same) return same.unit;
  if (found.length) throw new Error(`'${spelling}' is a unit of ${found[0].kind}; one of ${kind} is wanted here.`);
  throw new Error(`'${spelling}' is no unit of ${kind} that is known here.`);
}

function compound(text, kind) {
  const names = KINDS[kind].compounds;
  let rest = text.replace(/^[+-]+/, "").trim();
  let total = 0;
  let before = null;
  while (rest) {
    let number;
    [number, rest] = split(rest);
    const spelled = /^(?:[A-Za-z]+\.?|'|")/.exec(rest);
    let unit;
    if (!spelled) {
      if (rest || !before || before.unit.suffix !== "ft") return null;
      unit = KINDS.length.units.find((one) => one.suffix === "in");
    } else {
      try { unit = unitOf(spelled[0], kind); } catch { return null; }
      if (!names.includes(unit.suffix)) return null;
      rest = rest.slice(spelled[0].length).replace(/^[ ,-]+/, "");
    }
    if (before) {
      if (names.indexOf(unit.suffix) <= names.indexOf(before.unit.suffix)) throw new Error(`'${text}' does not go from large to small units.`);
      if (before.number !== Math.trunc(before.number)) throw new Error(`'${text}' has a part of a ${before.unit.spellings[0]} before the ${unit.spellings[0]}.`);
      if (number < 0 || number * unit.scale >= before.unit.scale * (1 - 1e-12)) throw new Error(`'${text}': ${number} ${unit.spellings[0]} is not less than one ${before.unit.spellings[0]}.`);
    }
    before = { number, unit };
    total += number * unit.scale;
  }
  return text.startsWith("-") ? -total : total;
}

/** Return a typed value in the first unit of its kind; a bare number is in `unit` (a spelling). Throws words. */
export function parse(typed, kind, unit) {
  const text = tidy(typed);
  if (!text) throw new Error("There is no value.");
  const [number, rest] = split(text);
  const at = (one) => number * one.scale + (one.offset || 0);
  if (!rest) return at(unitOf(unit, kind));
  if (KINDS[kind].compounds && !INDEX.has(key(rest))) {
    const total = compound(text, kind);
    if (total !== null) return total;
  }
  if (/^\d/.test(rest)) throw new Error(`'${text}' holds two numbers and no unit between them.`);
  const found = unitOf(rest, kind);
  if (found.mark === "absolute") throw new Error(`'${text}' is an absolute pressure; a gauge's is wanted here.`);
  const size = at(found);
  if (kind === "temperature" && size < -273.15 - 1e-9) throw new Error(`'${text}' is below absolute zero (-273.15 °C).`);
  return size;
}
