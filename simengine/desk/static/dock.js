/**
 * The docked panel: one thing to enter or look up, below the lanes, never in their way.
 *
 * Rules of this file:
 * - Opening a panel closes the one before; what had been entered there is kept already.
 * - A panel that was opened by a key takes the focus only if it has something to type first.
 */

import { byId, make, part, say } from "./dom.js";

export class Dock {
  constructor() {
    this.root = byId("dock");
    this.title = part(this.root, "h2");
    this.nudge = part(this.root, ".nudge");
    this.body = part(this.root, ".dock-body");
    /** What is open, in a word; empty: nothing. */
    this.open = "";
    /** @type {(() => void) | null} draws the open panel again when the view has changed */
    this.redraw = null;
    /** Called when a panel is closed or another takes its place. */
    this.onLeave = () => {};
    part(this.root, "[data-close]").addEventListener("click", () => this.close());
  }

  /**
   * @param {string} what
   * @param {string} title
   * @param {readonly (Node | string)[]} content
   * @param {{ focus?: boolean, redraw?: () => void }} [more]
   */
  show(what, title, content, { focus = false, redraw } = {}) {
    this.onLeave();
    this.open = what;
    this.redraw = redraw ?? null;
    this.nudge.hidden = !what.startsWith("asks") && !what.startsWith("setting");
    say(this.title, title);
    this.body.replaceChildren(...content);
    this.root.hidden = false;
    this.root.scrollTop = 0;
    if (focus) this.enter();
  }

  /** Put the focus on the first thing to use. */
  enter() {
    const first = this.body.querySelector("input, textarea, select, button, a[href]");
    if (first instanceof HTMLElement) first.focus();
  }

  close() {
    this.onLeave();
    if (this.root.contains(document.activeElement)) {
      /** @type {HTMLElement} */ (document.activeElement).blur();
    }
    this.open = "";
    this.redraw = null;
    this.root.hidden = true;
    this.body.replaceChildren();
  }
}

/**
 * A button of a panel.
 *
 * @param {string} words
 * @param {(stamp: number) => void} run
 * @param {Record<string, string | boolean | undefined>} [attributes]
 * @returns {HTMLButtonElement}
 */
export function button(words, run, attributes = {}) {
  const element = make("button", { type: "button", ...attributes }, words);
  element.addEventListener("click", (event) => run(touchStamp(event)));
  return element;
}

/** When the finger or mouse went down last, and on what. */
const touch = { stamp: 0, target: /** @type {EventTarget | null} */ (null) };
addEventListener(
  "pointerdown",
  (event) => {
    touch.stamp = event.timeStamp;
    touch.target = event.target;
  },
  { capture: true },
);

/**
 * When the touch began that made this click; a click by key is its own instant.
 *
 * @param {MouseEvent} event
 * @returns {number}
 */
export function touchStamp(event) {
  const own = event.detail > 0 && event.timeStamp - touch.stamp < LONGEST_TOUCH_MS;
  return own ? touch.stamp : event.timeStamp;
}

const LONGEST_TOUCH_MS = 2_000;

/** @returns {number} how long ago the last touch began, ms */
export function sinceTouch() {
  return performance.now() - touch.stamp;
}
