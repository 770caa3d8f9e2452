/**
 * Keeps the screen of this device awake while a session runs.
 *
 * Rules of this file:
 * - The browser's own leave is asked for, and asked for again whenever the page comes back to sight,
 *   since it ends as the page goes out of it.
 * - Where it can't be had (an old browser, a connection that the device does not trust, a battery
 *   that is low) the page says so in the element `dim`, and nothing else changes.
 */

export class Awake {
  constructor() {
    /** @type {WakeLockSentinel | null} */
    this.lock = null;
    this.wanted = false;
    document.addEventListener("visibilitychange", () => void this.ask());
  }

  /** @param {boolean} runs whether a session runs: from its start until its end */
  follow(runs) {
    if (runs === this.wanted) return;
    this.wanted = runs;
    if (runs) {
      void this.ask();
    } else {
      void this.lock?.release();
      this.lock = null;
      tell(false);
    }
  }

  async ask() {
    if (!this.wanted || document.visibilityState !== "visible") return;
    try {
      this.lock = await navigator.wakeLock.request("screen");
      if (!this.wanted) void this.lock.release(); // the session ended meanwhile
      tell(false);
    } catch {
      tell(this.wanted);
    }
  }
}

/** @param {boolean} dims whether the screen may go dark by itself */
function tell(dims) {
  const dim = document.getElementById("dim");
  if (dim) dim.hidden = !dims;
}
