/**
 * The console's menu: panels that are needed seldom, and what this screen shows and sounds.
 */

import { button } from "./dock.js";
import { byId, make, put } from "./dom.js";

/**
 * @param {import("./desk.js").Desk} desk
 * @param {object} parts
 * @param {import("./head.js").Head} parts.head
 * @param {import("./sound.js").Sound} parts.sound
 * @param {Record<string, () => void>} parts.open panels by their names
 * @param {() => void} parts.redraw
 */
export function showMenu(desk, { head, sound, open, redraw }) {
  const { display, code, recorder, qr } = document.body.dataset;
  const panels = Object.entries(open).map(([words, run]) => button(words, run));
  const expected = byId("expected");
  const switches = [
    toggle("What is true", desk.truth, (on) => (desk.truth = on), redraw),
    toggle("What the team knows", head.known, (on) => (head.known = on), redraw),
    toggle("What is expected", !expected.hidden, (on) => showExpected(on), redraw),
    toggle("Training tones", !sound.muted, () => sound.turn(), redraw),
    button("Day or night", () => undefined, { "data-turn-theme": true }),
  ];
  desk.dock.show("menu", "Menu", [
    make("div", { class: "dock-list" }, make("h3", {}, "Open"), ...panels),
    make(
      "div",
      { class: "dock-list" },
      make("h3", {}, "This screen shows and sounds"),
      ...switches,
    ),
    make(
      "div",
      { class: "row" },
      make("img", {
        src: qr,
        width: "116",
        height: "116",
        alt: "QR picture of the display's address",
      }),
      make(
        "p",
        {},
        "Bedside display: ",
        make("a", { href: display, target: "_blank", rel: "noopener" }, display ?? ""),
        make("br"),
        `or join with the code ${code}`,
        make("br"),
        `A second recorder joins at the same address, /join, with the code ${recorder}`,
        make("br"),
        `${desk.view.screens} screens are open.`,
      ),
    ),
  ]);
}

const KEY = "simengine.expected";

/** @param {boolean} on */
function showExpected(on) {
  try {
    localStorage.setItem(KEY, on ? "on" : "off");
  } finally {
    placeExpected(on);
  }
}

/** @param {boolean} on */
export function placeExpected(on) {
  byId("expected").hidden = !on;
  byId("foot").classList.toggle("alone", !on);
}

/** Show or hide the list as this device last chose. */
export function restoreExpected() {
  try {
    placeExpected(localStorage.getItem(KEY) !== "off");
  } catch {
    placeExpected(true);
  }
}

/**
 * @param {string} words
 * @param {boolean} on
 * @param {(on: boolean) => void} change
 * @param {() => void} redraw
 * @returns {HTMLElement}
 */
function toggle(words, on, change, redraw) {
  const one = button(words, () => {
    const next = one.getAttribute("aria-pressed") !== "true";
    change(next);
    put(one, "aria-pressed", String(next));
    redraw();
  });
  put(one, "aria-pressed", String(on));
  return one;
}
