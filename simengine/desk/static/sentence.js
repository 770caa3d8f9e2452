/**
 * The baby as one sentence after another.
 *
 * Rules of this file:
 * - First, and large, what the vocabulary calls so, known or not; then what everybody can see; then
 *   what the team has looked for or will read; last what it does not know, told once for all of it.
 * - With the truth hidden only what the team has is told.
 * - What is true of an observation says which one it can tell the team of (`tells`).
 */

/** @typedef {import("./types.js").Told} Told */
/** @typedef {{ key: string, text: string, sort: string, moving: boolean,
 *   large: boolean, tells: string | null }} Part */

import { capital } from "./times.js";
import { filled, isMoving } from "./words.js";

/**
 * @param {readonly Told[]} baby
 * @param {boolean} truth show what is true
 * @param {boolean} known show what the team knows
 * @param {number} now scenario time, ms
 * @returns {Part[]}
 */
export function sentence(baby, truth, known, now) {
  const seen = baby.filter((line) => line.known === null && !line.large);
  const looked = baby.filter((line) => line.known !== null && !line.large);
  const dark = looked.filter(
    (line) => line.known?.sort === "unknown" && line.known.left_to_ms === null,
  );
  const lit = looked.filter((line) => !dark.includes(line));
  /** @type {Part[]} */
  const parts = [];
  for (const line of baby.filter(({ large }) => large)) {
    both(parts, line, truth, known, now);
    end(parts, ".\n");
  }
  row(parts, seen, "; ", now);
  end(parts, ". ");
  for (const line of lit) {
    both(parts, line, truth, known, now);
    end(parts, ". ");
  }
  if (dark.length === 0 || !(truth || known)) return parts;
  if (truth) row(parts, dark, "; ", now);
  if (known) {
    const which = truth ? " – " : `${capital(dark.map(({ label }) => label).join("; "))}: `;
    const text = `${which}the team does not know`;
    parts.push(plainPart("dark", text, "unknown"));
  }
  end(parts, ".");
  return parts;
}

/**
 * What is true of an observation, and what the team has of it.
 *
 * @param {Part[]} parts added to
 * @param {Told} line
 * @param {boolean} truth
 * @param {boolean} known
 * @param {number} now
 */
function both(parts, line, truth, known, now) {
  if (truth) row(parts, [line], "", now);
  if (!known || !line.known) return;
  const lead = truth ? " – " : `${capital(line.label)}: `;
  const text = lead + inOneLine(filled(line.known, now));
  parts.push({
    ...plainPart(`known ${line.observation}`, text, line.known.sort),
    large: line.large && !truth,
  });
}

/**
 * What is true of some observations, one after the other.
 *
 * @param {Part[]} parts added to
 * @param {readonly Told[]} row
 * @param {string} between
 * @param {number} now
 */
function row(parts, row, between, now) {
  row.forEach((line, place) => {
    const text = filled(line.true, now);
    const moving = isMoving(line.true, now);
    const key = `true ${line.observation}`;
    const { large, observation: tells } = line;
    const words = place === 0 ? capital(text) : text;
    parts.push({ key, text: words, sort: "true", moving, large, tells });
    if (place < row.length - 1) end(parts, between);
  });
}

/**
 * @param {Part[]} parts added to
 * @param {string} sign
 */
function end(parts, sign) {
  const last = parts.at(-1);
  if (!last) return;
  parts.push(plainPart(`after ${last.key}`, sign, last.sort));
}

/**
 * A part of the sentence that nobody touches.
 *
 * @param {string} key
 * @param {string} text
 * @param {string} sort
 * @returns {Part}
 */
export function plainPart(key, text, sort) {
  return { key, text, sort, moving: false, large: false, tells: null };
}

/**
 * The text with what stands in brackets kept together: "(next in 48 s)" is never broken.
 *
 * @param {string} text
 * @returns {string}
 */
function inOneLine(text) {
  return text.replace(/\([^)]*\)/g, (words) => words.replaceAll(" ", "\u00a0"));
}
