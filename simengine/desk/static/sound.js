/**
 * The training tones: our own pattern, made here, so that no file and no network is needed.
 *
 * Rules of this file:
 * - A clock mark is one long low tone and one short high tone; a prompt is two short middle tones.
 * - A browser lets a page sound only after a first touch; until then a mark is seen, not heard.
 */

const KEY = "simengine.muted";

/** Each tone: [starts after s, lasts s, Hz]. @type {Record<string, [number, number, number][]>} */
const PATTERNS = {
  mark: [
    [0, 0.35, 392],
    [0.42, 0.14, 784],
  ],
  prompt: [
    [0, 0.12, 523],
    [0.2, 0.12, 523],
  ],
};
const LOUDNESS = 0.18;
const RAMP_S = 0.015;

export class Sound {
  constructor() {
    /** @type {AudioContext | null} */
    this.context = null;
    this.muted = false;
    try {
      this.muted = localStorage.getItem(KEY) === "yes";
    } catch {
      this.muted = false;
    }
    const wake = () => {
      this.context ??= new AudioContext();
      void this.context.resume();
    };
    addEventListener("pointerdown", wake);
    addEventListener("keydown", wake);
  }

  /** @returns {boolean} muted from now on */
  turn() {
    this.muted = !this.muted;
    try {
      localStorage.setItem(KEY, this.muted ? "yes" : "no");
    } catch {
      return this.muted; // kept for this page only
    }
    return this.muted;
  }

  /** @param {"mark" | "prompt"} what */
  play(what) {
    if (this.muted || !this.context) return;
    for (const [after, lasting, pitch] of PATTERNS[what] ?? []) {
      this.tone(this.context, this.context.currentTime + after, lasting, pitch);
    }
  }

  /**
   * @param {AudioContext} context
   * @param {number} start
   * @param {number} lasting
   * @param {number} pitch
   */
  tone(context, start, lasting, pitch) {
    const source = context.createOscillator();
    const level = context.createGain();
    source.frequency.value = pitch;
    level.gain.setValueAtTime(0, start);
    level.gain.linearRampToValueAtTime(LOUDNESS, start + RAMP_S);
    level.gain.setValueAtTime(LOUDNESS, start + lasting - RAMP_S);
    level.gain.linearRampToValueAtTime(0, start + lasting);
    source.connect(level).connect(context.destination);
    source.start(start);
    source.stop(start + lasting);
  }
}
