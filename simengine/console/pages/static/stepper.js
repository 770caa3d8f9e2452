/**
 * A control for one figure (stepper and typing) or one word (a row of buttons).
 *
 * Rules of this file:
 * - Each change is told at once; whoever listens may wait for the last of a run.
 * - A figure outside what is plausible is asked about, and told only when it is confirmed.
 */

import { make, put, say } from "./dom.js";
import { unitText } from "./times.js";

/**
 * @typedef {object} Asked
 * @property {string} label
 * @property {string | null} unit
 * @property {readonly string[]} words not empty: a word is asked and not a figure
 * @property {number | null} step
 * @property {number | null} low least plausible figure
 * @property {number | null} high greatest plausible figure
 * @property {number | string | null} value what it stands at, if known
 */

let controls = 0;

/**
 * @param {Asked} asked
 * @param {(value: number | string) => void} onChange
 * @returns {HTMLElement}
 */
export function stepper(asked, onChange) {
  return asked.words.length > 0 ? wordRow(asked, onChange) : figure(asked, onChange);
}

/**
 * A figure without the noise of binary fractions.
 *
 * @param {number} value
 * @returns {number}
 */
export function tidy(value) {
  return Number(value.toPrecision(10));
}

/**
 * @param {Asked} asked
 * @param {(value: number | string) => void} onChange
 * @returns {HTMLElement}
 */
function wordRow(asked, onChange) {
  const row = make("div", { class: "words", role: "group", "aria-label": asked.label });
  for (const word of asked.words) {
    const button = make("button", { type: "button" }, word);
    put(button, "aria-pressed", String(word === asked.value));
    button.addEventListener("click", () => {
      for (const other of row.children) put(other, "aria-pressed", String(other === button));
      onChange(word);
    });
    row.append(button);
  }
  return make("div", { class: "stepper" }, make("span", { class: "small" }, asked.label), row);
}

/**
 * @param {Asked} asked
 * @param {(value: number | string) => void} onChange
 * @returns {HTMLElement}
 */
function figure(asked, onChange) {
  controls += 1;
  const id = `figure-${controls}`;
  const step = asked.step ?? 1;
  let value = typeof asked.value === "number" ? asked.value : null;

  const input = make("input", { id, inputmode: "decimal", autocomplete: "off" });
  input.value = value === null ? "" : String(tidy(value));
  const doubt = make("p", { class: "doubt wrong", role: "alert", hidden: true });

  /** @param {number} wanted */
  const inside = (wanted) =>
    (asked.low === null || wanted >= asked.low) && (asked.high === null || wanted <= asked.high);

  /** @param {number} wanted */
  const take = (wanted) => {
    value = tidy(wanted);
    input.value = String(value);
    put(doubt, "hidden", true);
    put(input, "aria-invalid", false);
    onChange(value);
  };

  /** @param {string} words @param {number} [unsure] */
  const ask = (words, unsure) => {
    say(doubt, words);
    put(doubt, "hidden", false);
    put(input, "aria-invalid", "true");
    if (unsure === undefined) return;
    const sure = make("button", { type: "button" }, `Keep ${unsure}`);
    sure.addEventListener("click", () => take(unsure));
    doubt.append(" ", sure);
  };

  /** @param {number} direction */
  const move = (direction) => {
    const from = value ?? asked.low ?? 0;
    const next = tidy(value === null ? from : from + direction * step);
    const low = asked.low ?? -Infinity;
    const high = asked.high ?? Infinity;
    take(Math.min(Math.max(next, Math.min(low, from)), Math.max(high, from)));
  };

  const typed = () => {
    const text = input.value.trim().replace(",", ".");
    if (text === "" || (value !== null && Number(text) === value)) return;
    const wanted = Number(text);
    if (!Number.isFinite(wanted)) ask("A figure is needed here.");
    else if (inside(wanted)) take(wanted);
    else ask(`Outside ${asked.low} to ${asked.high} ${unitText(asked.unit ?? "")}.`, wanted);
  };
  input.addEventListener("change", typed);
  input.addEventListener("focus", () => input.select());
  input.addEventListener("keydown", (event) => {
    if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      event.preventDefault();
      move(event.key === "ArrowUp" ? 1 : -1);
    } else if (event.key === "Enter") {
      typed();
      if (doubt.hidden) input.blur();
    }
  });

  const less = make("button", { type: "button", "aria-label": `${asked.label}: lower` }, "−");
  const more = make("button", { type: "button", "aria-label": `${asked.label}: higher` }, "+");
  less.addEventListener("click", () => move(-1));
  more.addEventListener("click", () => move(1));
  return make(
    "div",
    { class: "stepper" },
    make("label", { for: id, class: "small" }, asked.label),
    make(
      "div",
      { class: "stepper-row" },
      less,
      input,
      more,
      make("span", {}, unitText(asked.unit ?? "")),
    ),
    doubt,
  );
}
