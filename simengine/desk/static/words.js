/**
 * Words that move: a value on its curve, an age, a time left.
 *
 * Rules of this file:
 * - A value is computed from the closed form that the server sent; nothing is sampled or guessed.
 */

/** @typedef {import("./types.js").Words} Words */
/** @typedef {import("./types.js").Curve} Curve */

import { leftText, spanText, unitText } from "./times.js";

/**
 * The value of a curve at an instant of scenario time.
 *
 * @param {Curve} curve
 * @param {number} ms
 * @returns {number}
 */
export function valueAt(curve, ms) {
  if (curve.tau_ms === null || ms <= curve.start_ms) return curve.value;
  const gone = Math.exp(-(ms - curve.start_ms) / curve.tau_ms);
  return curve.target + (curve.value - curve.target) * gone;
}

/**
 * A value as written: "68 /min".
 *
 * @param {Curve} curve
 * @param {number} ms
 * @returns {string}
 */
export function valueText(curve, ms) {
  const figure = valueAt(curve, ms).toFixed(curve.decimals);
  return curve.unit ? `${figure} ${unitText(curve.unit)}` : figure;
}

/**
 * The words as they are at an instant of scenario time.
 *
 * @param {Words} words
 * @param {number} ms
 * @returns {string}
 */
export function filled(words, ms) {
  const { curve, age_from_ms: from, left_to_ms: to } = words;
  return words.text.replace(/\{(value|age|left)\}/g, (whole, name) => {
    if (name === "value" && curve) return valueText(curve, ms);
    if (name === "age" && from !== null) return spanText(ms - from);
    if (name === "left" && to !== null) return leftText(to - ms);
    return whole;
  });
}

/**
 * Whether the value is on its way (by more than half of its last digit).
 *
 * @param {Words} words
 * @param {number} ms
 * @returns {boolean}
 */
export function isMoving({ curve }, ms) {
  if (!curve || curve.tau_ms === null) return false;
  return Math.abs(curve.target - valueAt(curve, ms)) >= 0.5 * 10 ** -curve.decimals;
}
