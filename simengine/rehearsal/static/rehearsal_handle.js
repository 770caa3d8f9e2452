/**
 * What hands can do to a part of the cot: a dial, a valve, a switch, a hold or a touch.
 *
 * Rules of this file:
 * - It is the same wherever it stands: at its part of the cot, or beside what is done to a baby.
 * - A number is turned by steps or typed; a valve has no marks and is turned by what a needle tells.
 * - What a hand keeps closed stays so until it is touched again.
 */

/** @typedef {import("./rehearsal_types.js").CotHandle} CotHandle */
/** @typedef {(key: string, places?: Record<string, string>) => string} Word */

import { make, part as within, put, say } from "./dom.js";
import { showTyped, turnedParts } from "./rehearsal_dial.js";
import { figureText, unitText } from "./times.js";

const TURNS = [-5, -1, 1, 5];

/**
 * @param {CotHandle} handle
 * @param {Word} word
 * @param {(value: unknown) => void} work
 * @param {readonly number[]} [usual] figures that are offered for one touch
 * @returns {HTMLElement}
 */
export function handleOf(handle, word, work, usual = []) {
  if (handle.kind === "press") {
    const button = make("button", { type: "button" }, handle.label);
    button.addEventListener("click", () => work(null));
    return button;
  }
  if (handle.kind === "hold") {
    const button = make("button", { type: "button", "aria-pressed": "false" }, handle.label);
    button.dataset.handle = handle.name;
    button.addEventListener("click", () => work(button.getAttribute("aria-pressed") !== "true"));
    return button;
  }
  const box = make("fieldset", { class: "dial", "data-handle": handle.name });
  const row = make("div", { class: "row" });
  box.append(make("legend", {}, handle.label), make("span", { class: "stands" }), row);
  if (handle.kind === "switch") {
    for (const one of handle.words) {
      const button = make("button", { type: "button", "data-value": one }, one);
      put(button, "aria-label", `${handle.label}: ${one}`);
      button.addEventListener("click", () => work(one));
      row.append(button);
    }
  } else if (handle.kind === "turn") {
    for (const by of TURNS) {
      const turned = by * handle.step;
      const size = figureText(Math.abs(turned), "");
      const much = figureText(Math.abs(turned), handle.unit);
      const key = by < 0 ? "turn_down" : "turn_up";
      const button = make("button", { type: "button" }, `${by < 0 ? "−" : "+"}${size}`);
      put(button, "aria-label", word(key, { label: handle.label, much }));
      button.addEventListener("click", () => work(turned));
      row.append(button);
    }
    within(box, ".stands").textContent = word("turned_by", { unit: unitText(handle.unit) });
  } else {
    const { parts, later } = turnedParts(handle, word, work, true);
    row.append(...parts);
    for (const value of usual) {
      const button = make("button", { type: "button" }, figureText(value, null));
      put(button, "aria-label", `${handle.label}: ${figureText(value, handle.unit)}`);
      button.addEventListener("click", () => later(value));
      row.append(button);
    }
  }
  return box;
}

/**
 * @param {Element} at what ``handleOf`` made
 * @param {CotHandle} handle
 * @param {number | string | boolean} stands
 * @param {Word} word
 */
export function drawHandle(at, handle, stands, word) {
  if (handle.kind === "hold") put(at, "aria-pressed", String(stands === true));
  for (const button of at.querySelectorAll("[data-value]")) {
    put(button, "aria-pressed", String(button.getAttribute("data-value") === stands));
  }
  const typed = at.querySelector("input");
  if (typed && typeof stands === "number") {
    say(within(at, ".stands"), word("now", { value: figureText(stands, handle.unit) }));
    showTyped(typed, stands);
  }
}
