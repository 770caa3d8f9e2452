/**
 * The stream of views from the server.
 *
 * Rules of this file:
 * - Each view is whole, so one that is missed is made good by the next.
 * - A stream that has been silent too long counts as broken, whatever the browser thinks of it.
 * - The server lets no stream grow old, since it can't tell a page that has gone from one that looks
 *   on: it asks for a new one, which is there before the old one goes.
 */

const SILENCE_MS = 12_000;
const WAIT_MS = 1_000;

export class Stream {
  /**
   * @param {string} address
   * @param {(view: any) => void} onView
   * @param {(up: boolean) => void} onLink called when the link is lost or back
   */
  constructor(address, onView, onLink) {
    this.address = address;
    this.onView = onView;
    this.onLink = onLink;
    this.up = false;
    this.heard = performance.now();
    /** @type {EventSource | null} */
    this.source = null;
    this.waiting = 0;
    /** @type {EventSource | null} gives way once its successor has brought a view */
    this.old = null;
    this.open();
    setInterval(() => this.watch(), 1_000);
    addEventListener("online", () => this.again());
    addEventListener("offline", () => this.lost());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible" && !this.up) this.again();
    });
  }

  /** Open the next stream before the old one ends, so that no view is missed. */
  renew() {
    this.old?.close();
    this.old = this.source;
    this.source = null;
    this.open();
  }

  open() {
    this.source?.close();
    this.heard = performance.now();
    const source = new EventSource(this.address);
    this.source = source;
    source.addEventListener("renew", () => {
      if (source === this.source) this.renew();
    });
    source.addEventListener("view", (event) => {
      if (source === this.source) {
        this.old?.close();
        this.old = null;
      }
      this.alive();
      this.onView(JSON.parse(event.data));
    });
    source.addEventListener("beat", () => this.alive());
    source.addEventListener("over", () => location.reload());
    source.addEventListener("error", () => {
      if (source !== this.source) return;
      this.lost();
      if (source.readyState === EventSource.CLOSED) this.later();
    });
  }

  alive() {
    this.heard = performance.now();
    if (this.up) return;
    this.up = true;
    this.onLink(true);
  }

  lost() {
    if (!this.up) return;
    this.up = false;
    this.onLink(false);
  }

  later() {
    clearTimeout(this.waiting);
    this.waiting = window.setTimeout(() => this.open(), WAIT_MS);
  }

  again() {
    clearTimeout(this.waiting);
    this.open();
  }

  watch() {
    if (performance.now() - this.heard < SILENCE_MS) return;
    this.lost();
    this.again();
  }
}
