/**
 * A dial: a value that is turned by steps, chosen or typed.
 *
 * Rules of this file:
 * - Steps that follow each other closely become one turn, which is sent once the hand rests.
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
    for (const one of dial.words) {
      const button = make("button", { type: "button", "data-value": one }, one);
      put(button, "aria-label", `${dial.label}: ${one}`);
      button.addEventListener("click", () => turn({ value: one }));
      row.append(button);
    }
    return box;
  }
  let timer = 0;
  const typed = make("input", { type: "number", step: "any", "aria-label": `${dial.label}, ${dial.unit}` });
  if (dial.least !== null) put(typed, "min", String(dial.least));
  const later = (/** @type {number} */ value) => {
    typed.value = String(value);
    box.dataset.turning = "yes";
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      delete box.dataset.turning;
      turn({ value, unit: dial.unit });
    }, RESTS_MS);
  };
  const step = (/** @type {number} */ by) => () => {
    const least = dial.least ?? -Infinity;
    const most = dial.most ?? Infinity;
    const value = Math.min(most, Math.max(least, Number(typed.value || 0) + by));
    later(Number(value.toFixed(3)));
  };
  const less = make("button", { type: "button" }, "−");
  const more = make("button", { type: "button" }, "+");
  put(less, "aria-label", word("less", { label: dial.label }));
  put(more, "aria-label", word("more", { label: dial.label }));
  less.addEventListener("click", step(-dial.step));
  more.addEventListener("click", step(dial.step));
  typed.addEventListener("change", () => {
    if (typed.value !== "") later(Number(typed.value));
  });
  row.append(less, typed, more);
  for (const value of dial.usual) {
    const button = make("button", { type: "button" }, figureText(value, null));
    put(button, "aria-label", `${dial.label}: ${figureText(value, dial.unit)}`);
    button.addEventListener("click", () => later(value));
    row.append(button);
  }
  return box;
}

/**
 * @param {HTMLElement} box
 * @param {Dial} dial
 * @param {Figure | null} stands
 * @param {Word} word
 */
export function drawDial(box, dial, stands, word) {
  const told = stands
    ? word("now", { value: figureText(stands.value, stands.unit) })
    : word("not_set");
  say(part(box, ".stands"), told);
  for (const button of box.querySelectorAll("[data-value]")) {
    put(button, "aria-pressed", String(button.getAttribute("data-value") === stands?.value));
  }
  const typed = box.querySelector("input");
  if (typed && !box.dataset.turning && document.activeElement !== typed) {
    typed.value = typeof stands?.value === "number" ? String(Number(stands.value.toFixed(3))) : "";
  }
}
