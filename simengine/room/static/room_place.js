/**
 * Where the walk through a session is now.
 *
 * Rules of this file:
 * - It plays on to the next stop after where it was started, or to the end, and stands there. Every
 *   screen works that out by itself, so nothing is sent while it plays.
 */

/** @typedef {import("./room_types.js").Content} Content */
/** @typedef {import("./room_types.js").View} View */

/**
 * @param {Pick<View, "at_ms" | "speed" | "since_ms">} view
 * @param {Pick<Content, "start_ms" | "end_ms" | "stops">} content
 * @param {number} now the server's clock, ms
 * @returns {{ at: number, runs: boolean }} on the team's clock
 */
export function placeOf(view, content, now) {
  if (view.speed === 0) return { at: within(view.at_ms, content), runs: false };
  const next = content.stops.find(({ at_ms: at }) => at > view.at_ms);
  const until = Math.min(next?.at_ms ?? Infinity, content.end_ms);
  const at = view.at_ms + view.speed * Math.max(0, now - view.since_ms);
  return at >= until ? { at: until, runs: false } : { at: within(at, content), runs: true };
}

/**
 * @param {number} at
 * @param {Pick<Content, "start_ms" | "end_ms">} content
 * @returns {number}
 */
export function within(at, { start_ms: start, end_ms: end }) {
  return Math.min(Math.max(at, start), end);
}

/**
 * The last of some things that had begun at an instant.
 *
 * @template {{ at_ms: number }} T
 * @param {readonly T[]} things in order of time
 * @param {number} at
 * @returns {T | null}
 */
export function lastBegun(things, at) {
  return things.findLast(({ at_ms: begun }) => begun <= at) ?? null;
}
