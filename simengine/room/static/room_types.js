/**
 * What the server tells the room's pages, as it is in `content.py`, `position.py` and `rooms.py`.
 *
 * Rules of this file:
 * - Instants are ms on the team's clock; `since_ms` is the server's clock.
 */

/** @typedef {{ at_ms: number, words: string }} Told */
/** @typedef {[number, number][]} Points */
/**
 * @typedef {{ label: string, unit: string, pieces: [boolean, Points][], readings: Points,
 *   levels: number[], other: Points }} Line
 */
/** @typedef {{ event: string, at_ms: number, words: string }} Retryable */
/**
 * @typedef {{ id: string, kind: "unsafe" | "work_on" | "well", heading: string, title: string,
 *   at_ms: number, seen: string[], done: string, asked: string, why: string, what_if: string,
 *   others: Points[], again: Retryable | null }} Moment
 */
/**
 * @typedef {{ title: string, start_ms: number, end_ms: number, zero: string, alt: string,
 *   states: { at_ms: number, until_ms: number, title: string, trend: string }[], lines: Line[],
 *   lasting: { at_ms: number, until_ms: number, words: string }[], acts: Told[],
 *   known: { at_ms: number, lines: string[] }[], stops: Told[], moments: Moment[],
 *   score: string[] }} Content
 */
/** @typedef {{ code: string, goal: string, along: string }} Person */
/**
 * @typedef {{ open: boolean, step: string, at_ms: number, speed: number, since_ms: number,
 *   moment: string, what_if: boolean, codes: boolean, with_score: boolean, people: Person[],
 *   version: string }} View
 */

export {};
