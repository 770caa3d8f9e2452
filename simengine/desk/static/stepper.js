/**
 * A control for one figure (values to touch, stepper and typing, in a unit) or one word (a row of
 * buttons).
 *
 * Rules of this file:
 * - Each change is told at once; whoever listens may wait for the last of a run.
 * - A figure outside what is plausible, or below zero where nothing else is known, is asked about,
 *   and told only when it is confirmed.
 * - Values and steps are in the first unit; a figure in another unit is typed and taken as it is,
 *   for the server converts.
 * - A step that is held goes on by itself.
 */

/** @typedef {import("./types.js").Figure} Figure */
/** @typedef {import("./types.js").Limits} Limits */

import { make, put, say } from "./dom.js";
import { figureText, unitText } from "./times.js";

const HELD_MS = 400;
const AGAIN_MS = 110;

/**
 * @typedef {object} Asked
 * @property {string} label
 * @property {readonly string[]} units empty for words
 * @property {readonly string[]} words not empty: a word is asked and not a figure
 * @property {number | null} step `null`: only typed
 * @property {() => Limits} limits what is not asked about, by unit
 * @property {Figure | null} value what it stands at, if known
 * @property {readonly number[]} [usual] values to touch
 * @property {readonly number[]} [usual_steps] how far from what it stands at, to touch
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
      ...this.chips(),
      make("div", { class: "stepper-row" }, ...this.row()),
      this.doubt,
    );
  }

  /** @returns {HTMLElement[]} values to touch: what it stands at, how far it is turned, the usual */
  chips() {
    const { label, usual = [], usual_steps: steps = [], units, value } = this.asked;
    const stands = typeof value?.value === "number" ? value.value : null;
    const first = value?.unit === (units[0] ?? null);
    const near = stands !== null && first ? steps.map((step) => tidy(stands + step)) : [];
    const figures = [...new Set([...(steps.length > 0 && first ? [stands] : []), ...near, ...usual])];
    const chips = figures
      .filter((figure) => figure !== null && this.isPlausible(figure, units[0] ?? null))
      .map((figure) => {
        const chip = make("button", { type: "button", class: "chip" }, figureText(figure, units[0]));
        put(chip, "aria-pressed", String(figure === stands && first));
        chip.addEventListener("click", () => {
          this.unit = units[0] ?? null;
          this.take(Number(figure));
          for (const other of chips) put(other, "aria-pressed", String(other === chip));
        });
        return chip;
      });
    if (chips.length === 0) return [];
    const words = `${label}: usual values`;
    return [make("div", { class: "words", role: "group", "aria-label": words }, ...chips)];
  }

  /** @returns {HTMLElement[]} */
  row() {
    const { label, step } = this.asked;
    if (step === null) return [this.input, this.unitPart()];
    const less = make("button", { type: "button", "aria-label": `${label}: lower` }, "−");
    const more = make("button", { type: "button", "aria-label": `${label}: higher` }, "+");
    this.repeats(less, -step);
    this.repeats(more, step);
    return [less, this.input, more, this.unitPart()];
  }

  /**
   * A step for a touch; held, one after the other.
   *
   * @param {HTMLElement} button
   * @param {number} by
   */
  repeats(button, by) {
    let timer = 0;
    let held = false;
    const stop = () => clearTimeout(timer);
    const again = () => {
      held = true;
      this.move(by);
      timer = window.setTimeout(again, AGAIN_MS);
    };
    button.addEventListener("pointerdown", () => {
      held = false;
      timer = window.setTimeout(again, HELD_MS);
    });
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
      button.addEventListener(end, stop);
    }
    button.addEventListener("contextmenu", (event) => event.preventDefault());
    button.addEventListener("click", () => {
      if (!held) this.move(by);
      held = false;
    });
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

  /**
   * @param {number} figure
   * @param {string | null} unit
   * @returns {boolean}
   */
  isPlausible(figure, unit) {
    const [low, high] = this.limitsIn(unit);
    return (low === null || figure >= low) && (high === null || figure <= high);
  }

  /**
   * @param {string | null} unit
   * @returns {[number | null, number | null]} less than nothing is asked about, whatever it is
   */
  limitsIn(unit) {
    return this.asked.limits()[unit ?? ""] ?? [0, null];
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
    const [least, most] = this.limitsIn(this.unit);
    const low = least ?? -Infinity;
    const high = most ?? Infinity;
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
    if (!Number.isFinite(wanted)) this.ask("Enter a figure here.");
    else if (this.isPlausible(wanted, this.unit)) this.take(wanted);
    else this.ask(this.outside(), wanted);
  }

  /** @returns {string} */
  outside() {
    const [low, high] = this.limitsIn(this.unit);
    const unit = unitText(this.unit ?? "");
    if (high === null) return `Below ${low ?? 0} ${unit}?`;
    if (low === null) return `Above ${high} ${unit}?`;
    return `Outside ${low} to ${high} ${unit}.`;
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
    const sure = make("button", { type: "button" }, `Keep ${figureText(unsure, this.unit)}`);
    sure.addEventListener("click", () => this.take(unsure));
    this.doubt.append(" ", sure);
  }
}
