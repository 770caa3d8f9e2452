/**
 * Heart beats to be heard and counted.
 *
 * Rules of this file:
 * - Each beat sounds alike, whatever the rate: a thump at the instant of the beat, and no tone that
 *   follows a value.
 * - Time that is let go by or stands still is silent: what was to come is stopped at each change of
 *   the clock, and what is left is played from there.
 * - Where the browser has no sound, or it is off, the page says in words what was counted.
 */

/** @typedef {import("./rehearsal_types.js").Counting} Counting */

const PITCH_HZ = 62;
const LASTS_S = 0.09;

export class Beats {
  constructor() {
    this.wanted = localStorage.getItem("beats") !== "off";
    /** @type {AudioContext | null} */
    this.context = null;
    /** @type {OscillatorNode[]} */
    this.playing = [];
    this.follows = "";
  }

  /** @returns {boolean} whether beats are heard */
  get on() {
    return this.wanted && "AudioContext" in window;
  }

  /** Turn the sound on or off. */
  turn() {
    this.wanted = !this.wanted;
    localStorage.setItem("beats", this.wanted ? "on" : "off");
    if (this.on) this.allow();
    else this.stop();
  }

  /** A browser gives sound only after a touch: this is called at one. */
  allow() {
    if (!this.on) return;
    this.context ??= new AudioContext();
    void this.context.resume();
  }

  /**
   * Play what is counted, once, as long as the clock goes on as it does.
   *
   * Whoever has just listened hears every beat of the count from the first, so that what the touch
   * took on its way is not missing.
   *
   * @param {Counting} counting
   * @param {import("./types.js").Now} clock
   * @param {number} now scenario time, ms
   * @param {boolean} first whether the page has just been opened
   */
  follow(counting, clock, now, first) {
    const ahead = clock.runs ? String(clock.scenario_ms - clock.log_ms) : "still";
    const follows = `${counting.id} ${ahead}`;
    if (follows === this.follows) return;
    const listened = !first && !this.follows.startsWith(counting.id);
    this.follows = follows;
    if (clock.runs) this.play(counting, listened ? counting.from_ms : now);
    else this.stop();
  }

  /**
   * Play the beats that are still to come.
   *
   * @param {Counting} counting
   * @param {number} now scenario time, ms
   */
  play(counting, now) {
    this.stop();
    const { context } = this;
    if (!this.on || !context) return;
    const from = context.currentTime; // once: it may move on from beat to beat
    for (const beat of counting.beats) {
      if (beat >= now) this.thump(context, from + (beat - now) / 1000);
    }
  }

  /**
   * @param {AudioContext} context
   * @param {number} at
   */
  thump(context, at) {
    const source = context.createOscillator();
    const loudness = context.createGain();
    source.frequency.value = PITCH_HZ;
    loudness.gain.setValueAtTime(0, at);
    loudness.gain.linearRampToValueAtTime(0.9, at + 0.012);
    loudness.gain.exponentialRampToValueAtTime(0.001, at + LASTS_S);
    source.connect(loudness).connect(context.destination);
    source.start(at);
    source.stop(at + LASTS_S);
    this.playing.push(source);
  }

  /** Be silent. */
  stop() {
    for (const source of this.playing) source.stop();
    this.playing = [];
  }
}
