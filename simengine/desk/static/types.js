/**
 * The views as the server sends them: the JSON of `simengine/desk/view.py`, field by field.
 * What each means stands there.
 *
 * @typedef {{ opened_at_ms: number, log_ms: number, scenario_ms: number, runs: boolean,
 *   paused: boolean, held: boolean, paused_ms: number }} Now
 * @typedef {{ at_ms: number, words: string, prompts: string | null,
 *   prompt_words: string }} Mark
 * @typedef {{ event: string | null, words: string, zero_ms: number | null,
 *   marks: Mark[], silent: boolean }} ClockView
 * @typedef {{ start_ms: number, value: number, target: number, tau_ms: number | null,
 *   decimals: number, unit: string }} Curve
 * @typedef {{ sort: "true" | "known" | "unknown", text: string, curve: Curve | null,
 *   age_from_ms: number | null, left_to_ms: number | null }} Words
 * @typedef {{ observation: string, label: string, large: boolean, true: Words,
 *   known: Words | null }} Told
 * @typedef {{ text: string, met: boolean }} Wait
 * @typedef {{ index: number, to: string, to_title: string, words: string, waits: Wait[],
 *   due_ms: number | null, holds_since_ms: number | null, lasting_ms: number, worsens: boolean,
 *   warns_from_ms: number | null, on: string | null }} Coming
 * @typedef {{ name: string, title: string, ends: boolean, here: boolean }} StateView
 * @typedef {{ item: string, title: string, kind: string, importance: string,
 *   standing: "open" | "later" | "done" | "missed" | "unobserved" | "not reached",
 *   action: string | null, setting: string | null, fault: string | null,
 *   role: string | null, words: string, opens_ms: number | null, ideal_ms: number | null,
 *   latest_ms: number | null, done_ms: number | null }} Expected
 * @typedef {{ value: number | string, unit: string | null }} Figure
 * @typedef {{ name: string, label: string, unit: string | null, units: string[], step: number,
 *   usual: number[], usual_steps: number[], limits: Limits, words: string[],
 *   now: Figure | null, changed_ms: number | null }} SettingView
 * @typedef {Record<string, [number | null, number | null]>} Limits
 * @typedef {{ words: string, dose: [string, Figure][] }} UsualDoseView
 * @typedef {{ amount_units: string[], volume_units: string[], strength_units: string[],
 *   flush_units: string[], over_units: string[], routes: [string, string][], usual: UsualDoseView[],
 *   flushes: Figure[], overs: Figure[], limits: Record<string, Limits>, last: [string, Figure][],
 *   caution: string }} DoseView
 * @typedef {{ item: string, title: string, opens_ms: number | null, ideal_ms: number | null,
 *   latest_ms: number | null }} Ask
 * @typedef {{ observation: string, label: string, unit: string | null, decimals: number,
 *   words: string[], bands: string[], suggestion: Words }} SpokenView
 * @typedef {{ name: string, label: string, phase: string, role: string | null,
 *   key: string | null, lasting: boolean, running_ms: number | null, running_id: string | null,
 *   asked: Ask | null, settings: string[], dose: DoseView | null, spoken: SpokenView | null,
 *   reads_at_ms: number | null, last_ms: number | null, times: number,
 *   away: boolean }} ActionView
 * @typedef {{ action: string, label: string, since_ms: number }} Doing
 * @typedef {{ kind: "action" | "setting" | "fault", name: string }} Tile
 * @typedef {{ role: string, label: string, people: string[], doing: Doing[], strip: Tile[],
 *   places: number, tiles: Tile[], more: string[], last_ms: number | null }} Lane
 * @typedef {{ name: string, label: string, unit: string, capacity: number, start_ms: number,
 *   contents: number, rate_per_ms: number, empty_ms: number | null,
 *   words: string, gauge: Figure | null, reserve: number }} SupplyView
 * @typedef {{ id: string, seq: number, kind: string, at_ms: number, log_ms: number,
 *   words: string, role: string | null, action: string | null, setting: string | null,
 *   phase: string | null, how: string | null, settings: [string, Figure][],
 *   dose: [string, Figure][], spoken: [string, Figure][], by: string,
 *   by_person: boolean, can_move: boolean, can_remove: boolean, corrected: boolean,
 *   removed: boolean }} Entry
 * @typedef {{ text: string, prompts: string | null, prompts_label: string,
 *   given: number }} Cue
 * @typedef {{ name: string, shows: string, plant: string,
 *   status: "not planted" | "planted" | "found" | "put right" }} FaultView
 * @typedef {{ code: string, roles: string[] }} Person
 * @typedef {{ title: string, protocol: string, band: string, caution: string,
 *   purpose: "formative" | "summative" | "rehearsal" }} Banner
 * @typedef {{ words: string, entries: string[] }} Note
 * @typedef {{ way: "withdraw" | "undo" | "begin again" | "never", id: string, kind: string,
 *   again: string, at_ms: number, data: Record<string, any>, until_ms: number | null,
 *   taken_by: string, words: string, asks: boolean }} StepView
 * @typedef {{ undo: StepView[], redo: StepView[] }} StepsView
 * @typedef {"finished" | "stopped early" | "safety stop"} Ended
 * @typedef {{ faults: string[], other: string }} CotView
 * @typedef {{ session: string, version: number, banner: Banner, now: Now, clock: ClockView,
 *   state: string, state_title: string, trend: string | null, baby: Told[], coming: Coming[],
 *   lost: string[], states: StateView[], expected: Expected[], lanes: Lane[],
 *   actions: Record<string, ActionView>, settings: Record<string, SettingView>,
 *   supplies: SupplyView[], tape: Entry[], earlier: number,
 *   steps: Record<string, StepsView>, undone_within_ms: number, last_entry: string | null,
 *   cues: Cue[], faults: FaultView[], people: Person[], roles: [string, string][],
 *   notes: Note[], kept: number, screens: number, closed: Ended | null,
 *   turns: [number, number, boolean][], ending_ms: number | null, returns_cot: boolean, returned: boolean,
 *   cot: CotView | null, confirmed: boolean }} ConsoleView
 * @typedef {{ observation: string, what: Words, when: Words | null,
 *   taken: boolean, large: boolean, old: boolean }} BedsideLine
 * @typedef {{ session: string, version: number, now: Now, clock: ClockView,
 *   lines: BedsideLine[], equipment: string[], started: boolean,
 *   closed: Ended | null, cot: CotView | null }} BedsideView
 */

export {};
