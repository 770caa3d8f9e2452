/**
 * The console's menu: panels that are needed seldom, and what this screen shows and sounds.
 */

import { button } from "./dock.js";
import { byId, make, put } from "./dom.js";

/** @typedef {import("./desk.js").Desk} Desk */
/** @typedef {{ key: string, words: string, on: () => boolean,
 *   turn: () => void }} Switch */

/**
 * What this screen shows and sounds, each to be turned by a touch or a key (with Shift).
 *
 * @param {Desk} desk
 * @param {import("./head.js").Head} head
 * @param {import("./sound.js").Sound} sound
 * @param {import("./keys.js").Keys} keys
 * @returns {Switch[]}
 */
export function switches(desk, head, sound, keys) {
  return [
    {
      key: "W",
      words: "What is true",
      on: () => desk.truth,
      turn: () => void (desk.truth = !desk.truth),
    },
    {
      key: "Q",
      words: "What the team knows",
      on: () => head.known,
      turn: () => void (head.known = !head.known),
    },
    {
      key: "X",
      words: "What is expected",
      on: () => !byId("expected").hidden,
      turn: () => showExpected(byId("expected").hidden !== false),
    },
    { key: "S", words: "Training tones", on: () => !sound.muted, turn: () => void sound.turn() },
    { key: "J", words: "Keys", on: () => keys.on, turn: () => keys.turn() },
    {
      key: "D",
      words: "Night",
      on: () => document.documentElement.dataset.theme === "night",
      turn: () => void document.dispatchEvent(new Event("turn-theme")),
    },
  ];
}

/**
 * @param {Desk} desk
 * @param {readonly import("./keys.js").Binding[]} panels
 * @param {readonly Switch[]} turns
 * @param {() => void} redraw
 */
export function showMenu(desk, panels, turns, redraw) {
  const { display, code, recorder, qr } = document.body.dataset;
  const opens = panels.map(({ words, shown, run }) => {
    const item = button(words, run);
    item.append(make("kbd", {}, shown));
    return item;
  });
  const shows = turns.map(({ words, key, on, turn }) => {
    const item = button(words, () => {
      turn();
      put(item, "aria-pressed", String(on()));
      redraw();
    });
    item.append(make("kbd", {}, `⇧${key}`));
    put(item, "aria-pressed", String(on()));
    return item;
  });
  const alt = "QR code of the display's address";
  const here = ["127.0.0.1", "localhost"].includes(location.hostname);
  const alone = here ? ["Only this computer can open it: use another window or a second screen."] : [];
  const link = make("a", { href: display, target: "_blank", rel: "noopener" }, display ?? "");
  desk.dock.show("menu", "Menu", [
    make("div", { class: "dock-list" }, make("h3", {}, "Open"), ...opens),
    make("div", { class: "dock-list" }, make("h3", {}, "This screen shows and sounds"), ...shows),
    make(
      "div",
      { class: "row" },
      make("img", { class: "qr", src: qr, width: "116", height: "116", alt }),
      make(
        "ul",
        {},
        make("li", {}, "Bedside display: ", link),
        make("li", {}, `or join at /join with the code ${code}`),
        ...alone.map((words) => make("li", { class: "soft" }, words)),
        make("li", {}, `A second observer joins at /join with the code ${recorder}`),
        make("li", {}, `Screens open: ${desk.view.screens}`),
      ),
    ),
    make(
      "div",
      {},
      make("h3", {}, "About"),
      make("p", {}, `Protocol: ${desk.view.banner.protocol}. ${desk.view.banner.caution}`),
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
