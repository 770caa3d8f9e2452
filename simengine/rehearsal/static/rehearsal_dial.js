/**
 * A dial: a value that is turned by steps, chosen or typed.
 *
 * Rules of this file:
 * - A turn is sent at once. Those that follow it closely become one, sent once the hand rests.
 * - What it stands at is told in words beside it, and never by a colour.
 */

/** @typedef {import("./rehearsal_types.js").Dial} Dial */
/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {(key: string, places?: Record<string, string>) => string} Word */

import { make, part, put, say } from "./dom.js";
import { figureText } from "./times.js";

const RESTS_MS = 500;

/**
 * @param {Dial} dial
 * @param {Word} word
 * @param {(chosen: Record<string, any>) => void} turn
 * @returns {HTMLElement}
 */
export function dialOf(dial, word, turn) {
  const box = make("fieldset", { class: "dial", "data-dial": dial.name });
  box.append(make("legend", {}, dial.label), make("span", { class: "stands" }));
  const row = make("div", { class: "row" });
  box.append(row);
  if (dial.words.length > 0) {
    for (const choice of dial.words) {
      const button = make("button", { type: "button", "data-value": choice }, choice);
      put(button, "aria-label", `${dial.label}: ${choice}`);
      button.addEventListener("click", () => turn({ value: choice }));
      row.append(button);
    }
    return box;
  }
  const { parts, typed, later } = turnedParts(dial, word, (value) =>
    turn({ value, unit: dial.unit }),
  );
  if (dial.least !== null) put(typed, "min", String(dial.least));
  row.append(...parts);
  for (const value of dial.usual) {
    const button = make("button", { type: "button" }, figureText(value, null));
    put(button, "aria-label", `${dial.label}: ${figureText(value, dial.unit)}`);
    button.addEventListener("click", () => later(value));
    row.append(button);
  }
  return box;
}

/**
 * A number that is turned by steps or typed.
 *
 * @param {{ label: string, unit: string, step: number, least: number | null, most: number | null }} dial
 * @param {Word} word
 * @param {(value: number) => void} turn
 * @param {boolean} [stops] what is typed, too, goes no further than the dial
 * @returns {{ parts: HTMLElement[], typed: HTMLInputElement, later: (value: number) => void }}
 *   less, what is typed, and more; ``later`` turns it to a value as if it had been typed
 */
export function turnedParts({ label, unit, step, least, most }, word, turn, stops = false) {
  let timer = 0;
  const onDial = (/** @type {number} */ value) =>
    Number(Math.min(most ?? Infinity, Math.max(least ?? -Infinity, value)).toFixed(3));
  const typed = make("input", { type: "number", step: "any", "aria-label": `${label}, ${unit}` });
  /** @type {number | null} */
  let waits = null;
  const later = (/** @type {number} */ value) => {
    typed.value = String(value);
    if (typed.dataset.turning) waits = value;
    else turn(value);
    typed.dataset.turning = "yes";
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      delete typed.dataset.turning;
      if (waits !== null) turn(waits);
      waits = null;
    }, RESTS_MS);
  };
  const by = (/** @type {number} */ much, /** @type {string} */ key, /** @type {string} */ sign) => {
    const button = make("button", { type: "button" }, sign);
    put(button, "aria-label", word(key, { label }));
    button.addEventListener("click", () => later(onDial(Number(typed.value || 0) + much)));
    return button;
  };
  typed.addEventListener("change", () => {
    if (typed.value !== "") later(stops ? onDial(Number(typed.value)) : Number(typed.value));
  });
  return { parts: [by(-step, "less", "−"), typed, by(step, "more", "+")], typed, later };
}

/**
 * What is typed shows where it stands, unless a hand is at it.
 *
 * @param {HTMLInputElement} typed
 * @param {number | null} value
 */
export function showTyped(typed, value) {
  if (typed.dataset.turning || document.activeElement === typed) return;
  typed.value = value === null ? "" : String(Number(value.toFixed(3)));
}

/**
 * @param {HTMLElement} box
 * @param {Dial} dial
 * @param {Figure | null} stands
 * @param {Word} word
 */
export function drawDial(box, dial, stands, word) {
  const standing = stands
    ? word("now", { value: figureText(stands.value, stands.unit) })
    : word("not_set");
  say(part(box, ".stands"), standing);
  for (const button of box.querySelectorAll("[data-value]")) {
    put(button, "aria-pressed", String(button.getAttribute("data-value") === stands?.value));
  }
  const typed = box.querySelector("input");
  if (typed) showTyped(typed, typeof stands?.value === "number" ? stands.value : null);
}
