/**
 * How times and figures are written.
 */

/**
 * A time on a clock: "1:18", "12:05", "-0:30".
 *
 * @param {number} ms
 * @returns {string}
 */
export function clockText(ms) {
  const whole = Math.floor(Math.abs(ms) / 1000);
  const sign = ms < 0 && whole > 0 ? "−" : "";
  return `${sign}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/**
 * What a person typed as a time on a clock (1:18, -0:30), in ms; `null` if it is none.
 *
 * @param {string} text
 * @returns {number | null}
 */
export function readClock(text) {
  const match = /^([-−]?)(\d+):([0-5]\d)$/.exec(text.trim());
  if (!match) return null;
  const size = (Number(match[2]) * 60 + Number(match[3])) * 1000;
  return match[1] ? -size : size;
}

/**
 * The first time of the log at which the session's own time has come to a time, as `Times.log`
 * has it; a time that was skipped is that of the skip.
 *
 * @param {[number, number, boolean][]} turns from when (log), the session's own time from there on,
 *   and whether it runs
 * @param {number} own ms
 * @returns {{ at: number, skipped: boolean }}
 */
export function logTime(turns, own) {
  const last = Math.max(0, turns.findLastIndex(([, since]) => since < own));
  const [from, since, runs] = turns[last] ?? [0, 0, true];
  const [until, then] = turns[last + 1] ?? [Infinity, Infinity];
  if (!runs && until === Infinity) return { at: from, skipped: false };
  if (!runs) return { at: until, skipped: own < then };
  const at = from + Math.max(0, own - since);
  return { at: Math.min(at, until), skipped: at > until && own < then };
}

/**
 * A stretch of time in words: "9 s", "1:15 min".
 *
 * @param {number} ms
 * @returns {string}
 */
export function spanText(ms) {
  const whole = Math.max(0, Math.floor(ms / 1000));
  return whole < 60 ? `${whole} s` : `${clockText(whole * 1000)} min`;
}

/**
 * Time left in words, rounded up so that "0 s left" is never said early.
 *
 * @param {number} ms
 * @returns {string}
 */
export function leftText(ms) {
  return spanText(Math.ceil(Math.max(0, ms) / 1000) * 1000);
}

/**
 * A figure with its unit: "21 %", "5 cmH2O".
 *
 * @param {number | string | null | undefined} value
 * @param {string | null | undefined} unit
 * @returns {string}
 */
export function figureText(value, unit) {
  if (value === null || value === undefined) return "not known";
  const text = typeof value === "number" ? String(Number(value.toFixed(3))) : value;
  return unit ? `${text} ${unitText(unit)}` : text;
}

/**
 * A unit, or words with units in them, as people write it.
 *
 * @param {string} unit
 * @returns {string}
 */
export function unitText(unit) {
  return unit.replace("degC", "°C").replaceAll("cmH2O", "cmH₂O");
}

/**
 * The text with a capital at its start.
 *
 * @param {string} text
 * @returns {string}
 */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
