/**
 * The view of who plays alone: the JSON of `simengine/rehearsal/play_view.py`, field by field.
 *
 * @typedef {import("./types.js").Figure} Figure
 * @typedef {{ id: string, observation: string, asks: string, counted: string, from_ms: number,
 *   until_ms: number, beats: number[], bands: string[], unit: string }} Counting
 * @typedef {{ id: string, at_ms: number, words: string, mine: boolean }} Happened
 * @typedef {{ by: string, words: string }} TakeOver
 * @typedef {{ action: string, stop: string, since_ms: number,
 *   keeps: boolean, take_over: TakeOver[] }} Running
 * @typedef {{ by: string, who: string, words: string, left_to_ms: number | null }} HandsLine
 * @typedef {{ session: string, version: number, now: import("./types.js").Now,
 *   clock: import("./types.js").ClockView, starts_ms: number | null, ready: string,
 *   baby: boolean,
 *   lines: import("./types.js").BedsideLine[], hands: HandsLine[], running: Running[],
 *   counting: Counting | null, happened: Happened[], settings: Record<string, Figure>,
 *   cot: CotShown | null, manometer: Needle | null, hint: string,
 *   ending: string, closed: import("./types.js").Ended | null }} PlayView
 * @typedef {{ figures: [string, string, string][], routes: [string, string][],
 *   caution: string }} DoseAsked
 * @typedef {{ name: string, do: string, lasts: boolean, stop: string, asks: string,
 *   choices: string[], dose: DoseAsked | null }} Act
 * @typedef {{ name: string, label: string, unit: string, step: number, least: number | null,
 *   most: number | null, words: string[], usual: number[] }} Dial
 * @typedef {{ figure: number, since_ms: number, every_ms: number, held_ms: number }} Swing
 * @typedef {{ label: string, figure: number, least: number, most: number, unit: string,
 *   words: string, swing: Swing | null }} Needle
 * @typedef {{ part: string, words: string, needles: Needle[], handles: CotHandle[],
 *   stands: Record<string, number | string | boolean>, heard: string[] }} CotShown
 * @typedef {{ name: string, label: string, kind: "dial" | "turn" | "switch" | "hold" | "press",
 *   unit: string, least: number, most: number, step: number, words: string[] }} CotHandle
 * @typedef {{ name: string, label: string }} CotPart
 * @typedef {{ name: string, label: string, parts: CotPart[] }} CotPlace
 * @typedef {{ setting: string, part: string, handle: CotHandle, usual: number[] }} CotDial
 * @typedef {{ name: string, label: string, acts: Act[], dials: Dial[],
 *   places: CotPlace[], cot_dials: CotDial[], manometer: boolean }} Group
 */

export {};
