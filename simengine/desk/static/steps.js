/**
 * What this device would take back next, and what it could bring back.
 *
 * Rules of this file:
 * - The server tells the steps of each device (`simengine/session/undo.py`); what waits on
 *   this device counts from the touch on, by the same rules.
 */

/** @typedef {import("./types.js").StepView} Step */
/** @typedef {import("./outbox.js").Entry} Pending */
/** @typedef {{ undo: Step[], redo: Step[] }} Steps */

const UNDONE = new Set(["state", "hold", "pause", "event"]);
const BEGUN_AGAIN = new Map([
  ["resume", "pause"],
  ["release", "hold"],
]);
const FOR_GOOD = new Set(["skip", "closed", "returned"]);
const ASKS = new Set(["event", "state"]);

/**
 * @param {Steps | undefined} told by the server
 * @param {readonly Pending[]} pending what it does not have yet
 * @param {number} within how long after the touch a step can be undone, in ms
 * @param {(entry: Pending) => string} wordsOf
 * @returns {Steps}
 */
export function stepsNow(told, pending, within, wordsOf) {
  const steps = { undo: [...(told?.undo ?? [])], redo: [...(told?.redo ?? [])] };
  for (const entry of pending) takeIn(steps, entry, within, wordsOf);
  return steps;
}

/**
 * @param {Steps} steps
 * @param {Pending} entry
 * @param {number} within
 * @param {(entry: Pending) => string} wordsOf
 */
function takeIn(steps, entry, within, wordsOf) {
  const { id, kind, data } = entry;
  const last = steps.redo.at(-1);
  if (kind !== "undone" && !(kind === "amend" && data.withdrawn === true)) {
    const again = last?.way === "undo" && last.kind === kind && same(last.data, data);
    steps.redo = again ? steps.redo.slice(0, -1) : [];
    steps.undo.push(stepOf(entry, within, wordsOf(entry)));
  } else if (last && last.taken_by === data.id) {
    steps.redo.pop();
    steps.undo.push({ ...last, taken_by: "" });
  } else {
    const taken = steps.undo.filter((step) => step.id === data.id);
    steps.undo = steps.undo.filter((step) => step.id !== data.id);
    steps.redo.push(...taken.map((step) => ({ ...step, taken_by: id })));
  }
}

/**
 * @param {Pending} entry
 * @param {number} within
 * @param {string} words
 * @returns {Step}
 */
function stepOf({ id, kind, data, at_ms }, within, words) {
  /** @type {Step["way"]} */
  let way = "withdraw";
  if (UNDONE.has(kind)) way = "undo";
  else if (BEGUN_AGAIN.has(kind)) way = "begin again";
  else if (FOR_GOOD.has(kind)) way = "never";
  return {
    ...{ way, id, kind, data, at_ms, words },
    again: BEGUN_AGAIN.get(kind) ?? "",
    until_ms: way === "undo" ? at_ms + within : null,
    taken_by: "",
    asks: ASKS.has(kind),
  };
}

/** @param {Record<string, any>} first @param {Record<string, any>} other */
function same(first, other) {
  return JSON.stringify(first) === JSON.stringify(other);
}
