/**
 * The clock's marks as they pass: a sign on the screen and, unless muted, a training tone.
 *
 * Rules of this file:
 * - A mark that passed while the page was away is not sounded late.
 * - Where the team's own timekeeping is scored nothing is shown or sounded.
 */

/** @typedef {import("./types.js").ClockView} ClockView */
/** @typedef {import("./types.js").Mark} Mark */

const SHOWN_MS = 12_000;
const LATE_MS = 3_000;

export class Marks {
  /** @param {import("./sound.js").Sound} sound */
  constructor(sound) {
    this.sound = sound;
    /** @type {Set<number>} instants that have been sounded */
    this.told = new Set();
  }

  /**
   * The mark to show now, sounded once.
   *
   * @param {ClockView} clock
   * @param {number} now scenario time, ms
   * @returns {Mark | null}
   */
  now(clock, now) {
    if (clock.silent) return null;
    const mark = clock.marks.findLast(({ at_ms: at }) => at <= now && now < at + SHOWN_MS);
    if (!mark) return null;
    if (!this.told.has(mark.at_ms)) {
      this.told.add(mark.at_ms);
      if (now - mark.at_ms < LATE_MS) this.sound.play(mark.prompts ? "prompt" : "mark");
    }
    return mark;
  }
}
