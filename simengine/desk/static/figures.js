/**
 * Figures and corrections as events carry them.
 */

/** @typedef {import("./types.js").Figure} Figure */

/**
 * A figure as an event carries it.
 *
 * @param {Figure} figure
 * @returns {Record<string, any>}
 */
export function figureData({ value, unit }) {
  return unit === null ? { value } : { value, unit };
}

/**
 * Join two corrections of one entry to the leaf, the later winning.
 *
 * @param {Record<string, any>} early
 * @param {Record<string, any>} late
 * @returns {Record<string, any>}
 */
export function merge(early, late) {
  const both = { ...early };
  for (const [name, value] of Object.entries(late)) {
    const old = both[name];
    const deep = isMap(old) && isMap(value) && !("value" in value);
    both[name] = deep ? merge(old, value) : value;
  }
  return both;
}

/** @param {any} value */
function isMap(value) {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
