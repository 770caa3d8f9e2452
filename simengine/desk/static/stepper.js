/**
 * A control for one figure (stepper and typing, in a unit) or one word (a row of buttons).
 *
 * Rules of this file:
 * - Each change is told at once; whoever listens may wait for the last of a run.
 * - A figure outside what is plausible is asked about, and told only when it is confirmed.
 * - Steps and limits are in the first unit; a figure in another unit is typed and taken as it is,
 *   for the server converts.
 */

/** @typedef {import("./types.js").Figure} Figure */

import { make, put, say } from "./dom.js";
import { unitText } from "./times.js";

/**
 * @typedef {object} Asked
 * @property {string} label
 * @property {readonly string[]} units empty for words
 * @property {readonly string[]} words not empty: a word is asked and not a figure
 * @property {number | null} step `null`: only typed
 * @property {number | null} low least plausible figure
 * @property {number | null} high greatest plausible figure
 * @property {Figure | null} value what it stands at, if known
 */

let controls = 0;

/**
 * @param {Asked} asked
 * @param {(figure: Figure) => void} onChange
 * @returns {HTMLElement}
 */
export function stepper(asked, onChange) {
  return asked.words.length > 0
    ? wordRow(asked, onChange)
    : new FigureControl(asked, onChange).root;
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
 * @param {(figure: Figure) => void} onChange
 * @returns {HTMLElement}
 */
function wordRow(asked, onChange) {
  const row = make("div", { class: "words", role: "group", "aria-label": asked.label });
  for (const word of asked.words) {
    const choice = make("button", { type: "button" }, word);
    put(choice, "aria-pressed", String(word === asked.value?.value));
    choice.addEventListener("click", () => {
      for (const other of row.children) put(other, "aria-pressed", String(other === choice));
      onChange({ value: word, unit: null });
    });
    row.append(choice);
  }
  return make("div", { class: "stepper" }, make("span", { class: "small" }, asked.label), row);
}

class FigureControl {
  /**
   * @param {Asked} asked
   * @param {(figure: Figure) => void} onChange
   */
  constructor(asked, onChange) {
    controls += 1;
    const id = `figure-${controls}`;
    this.asked = asked;
    this.onChange = onChange;
    this.unit = asked.value?.unit ?? asked.units[0] ?? null;
    this.value = typeof asked.value?.value === "number" ? asked.value.value : null;
    this.input = make("input", { id, inputmode: "decimal", autocomplete: "off" });
    this.input.value = this.value === null ? "" : String(tidy(this.value));
    this.doubt = make("p", { class: "doubt wrong", role: "alert", hidden: true });
    this.listen();
    this.root = make(
      "div",
      { class: "stepper" },
      make("label", { for: id, class: "small" }, asked.label),
      make("div", { class: "stepper-row" }, ...this.row()),
      this.doubt,
    );
  }

  /** @returns {HTMLElement[]} */
  row() {
    const { label, step } = this.asked;
    if (step === null) return [this.input, this.unitPart()];
    const less = make("button", { type: "button", "aria-label": `${label}: lower` }, "−");
    const more = make("button", { type: "button", "aria-label": `${label}: higher` }, "+");
    less.addEventListener("click", () => this.move(-step));
    more.addEventListener("click", () => this.move(step));
    return [less, this.input, more, this.unitPart()];
  }

  /** @returns {HTMLElement} */
  unitPart() {
    const { label, units } = this.asked;
    if (units.length < 2) return make("span", {}, unitText(this.unit ?? ""));
    const choice = make("select", { "aria-label": `${label}: unit` });
    for (const unit of units) {
      choice.append(make("option", { value: unit, selected: unit === this.unit }, unitText(unit)));
    }
    choice.addEventListener("change", () => {
      this.unit = choice.value;
      this.value = null;
      this.typed();
    });
    return choice;
  }

  listen() {
    this.input.addEventListener("change", () => this.typed());
    this.input.addEventListener("focus", () => this.input.select());
    this.input.addEventListener("keydown", (event) => {
      const { step } = this.asked;
      if (step !== null && (event.key === "ArrowUp" || event.key === "ArrowDown")) {
        event.preventDefault();
        this.move(event.key === "ArrowUp" ? step : -step);
      } else if (event.key === "Enter") {
        this.typed();
        if (this.doubt.hidden) this.input.blur();
      }
    });
  }

  /** @returns {boolean} steps and limits hold for the unit chosen */
  get inFirstUnit() {
    return this.unit === (this.asked.units[0] ?? null);
  }

  /** @param {number} wanted */
  take(wanted) {
    this.value = tidy(wanted);
    this.input.value = String(this.value);
    put(this.doubt, "hidden", true);
    put(this.input, "aria-invalid", false);
    this.onChange({ value: this.value, unit: this.unit });
  }

  /** @param {number} by */
  move(by) {
    const low = this.inFirstUnit ? (this.asked.low ?? -Infinity) : -Infinity;
    const high = this.inFirstUnit ? (this.asked.high ?? Infinity) : Infinity;
    const from = this.value ?? (Number.isFinite(low) ? low - by : 0);
    const next = from + by;
    // a step never leaves what is plausible, but comes back from outside
    if ((by > 0 && next > high) || (by < 0 && next < low)) return;
    this.take(next);
  }

  typed() {
    const text = this.input.value.trim().replace(",", ".");
    const wanted = Number(text);
    if (text === "" || wanted === this.value) return;
    const { low, high } = this.asked;
    const inside = (low === null || wanted >= low) && (high === null || wanted <= high);
    if (!Number.isFinite(wanted)) this.ask("A figure is needed here.");
    else if (inside || !this.inFirstUnit) this.take(wanted);
    else this.ask(`Outside ${low} to ${high} ${unitText(this.unit ?? "")}.`, wanted);
  }

  /**
   * @param {string} words
   * @param {number} [unsure] the figure that may be meant all the same
   */
  ask(words, unsure) {
    say(this.doubt, words);
    put(this.doubt, "hidden", false);
    put(this.input, "aria-invalid", "true");
    if (unsure === undefined) return;
    const sure = make("button", { type: "button" }, `Keep ${unsure}`);
    sure.addEventListener("click", () => this.take(unsure));
    this.doubt.append(" ", sure);
  }
}
