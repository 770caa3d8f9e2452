/**
 * Heart beats to be heard and counted.
 *
 * Rules of this file:
 * - Each beat sounds alike, whatever the rate: a thump at the instant of the beat, and no tone that
 *   follows a value.
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
   * Play the beats that are still to come.
   *
   * @param {Counting} counting
   * @param {number} now scenario time, ms
   */
  play(counting, now) {
    this.stop();
    const { context } = this;
    if (!this.on || !context) return;
    for (const beat of counting.beats) {
      if (beat >= now) this.thump(context, context.currentTime + (beat - now) / 1000);
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
