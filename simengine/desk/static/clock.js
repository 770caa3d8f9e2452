/**
 * The server's clock as this device knows it.
 *
 * Rules of this file:
 * - Of several questions the quickest answer counts: its error is at most half its round trip.
 * - Between questions the device's own steady clock runs on; a device that slept asks again.
 */

/**
 * @typedef {{ sent: number, came: number, server: number }} Answer all in ms
 */

/**
 * The offset (server's clock less the device's) of the quickest answer, and its error, in ms.
 *
 * @param {readonly Answer[]} answers at least one
 * @returns {{ offset: number, error: number }}
 */
export function bestOffset(answers) {
  let best = { offset: 0, error: Infinity };
  for (const { sent, came, server } of answers) {
    const error = (came - sent) / 2;
    if (error < best.error) best = { offset: server - (sent + came) / 2, error };
  }
  return best;
}

const QUESTIONS = 5;
const AGAIN_MS = 60_000;

export class ServerClock {
  /** @param {string} address what answers with the server's time in ms */
  constructor(address) {
    this.address = address;
    /** The device's steady clock, in ms since 1970 so that a reload keeps it near. */
    this.offset = 0;
    this.error = Infinity;
  }

  /** @returns {number} the device's time in ms, steady */
  device() {
    return performance.timeOrigin + performance.now();
  }

  /** @returns {number} the server's time in ms */
  now() {
    return this.device() + this.offset;
  }

  /**
   * The server's time at an instant that an input event carries.
   *
   * @param {number} stamp `timeStamp` of an input event
   * @returns {number}
   */
  at(stamp) {
    return performance.timeOrigin + stamp + this.offset;
  }

  /**
   * A first, rough setting, from a time that came with the page.
   *
   * @param {number} server ms
   */
  roughly(server) {
    if (this.error === Infinity) this.offset = server - this.device();
  }

  /** Ask the server; without an answer the old offset stays. */
  async ask() {
    /** @type {Answer[]} */
    const answers = [];
    for (let turn = 0; turn < QUESTIONS; turn += 1) {
      try {
        const sent = this.device();
        const response = await fetch(this.address, { cache: "no-store" });
        const came = this.device();
        if (!response.ok) continue;
        const time = await response.json();
        answers.push({ sent, came, server: Number(time.now_ms) });
      } catch {
        break; // no network: asked again later
      }
    }
    if (answers.length === 0) return;
    const best = bestOffset(answers);
    this.offset = best.offset;
    this.error = best.error;
  }

  /** Ask now, every minute, and whenever the page is looked at again. */
  keepAsking() {
    void this.ask();
    setInterval(() => void this.ask(), AGAIN_MS);
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.ask();
    });
    addEventListener("online", () => void this.ask());
  }
}
