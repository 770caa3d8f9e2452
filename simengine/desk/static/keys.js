/**
 * Keys: one registry, so that what is pressed, what stands on a button and what `?` lists agree.
 *
 * Rules of this file:
 * - A key is taken by the character it writes, so it works on any layout that has it.
 * - Capital letters (with Shift) are the console's own; small ones are the vocabulary's actions.
 * - Nothing is taken while somebody types, and nothing with Ctrl, Alt or Meta.
 * - Keys are shown on buttons only where one was pressed.
 * - Who dictates or whose hand trembles can switch keys off on their device; touch stays.
 */

const SETTING = "simengine.keys";

/**
 * @typedef {{ key: string, shown: string, words: string, run: (stamp: number) => void }} Binding
 */

/**
 * @param {EventTarget | null} target
 * @returns {boolean}
 */
export function isTyping(target) {
  if (!(target instanceof HTMLElement)) return false;
  if (target instanceof HTMLInputElement) return !["checkbox", "radio"].includes(target.type);
  return target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

export class Keys {
  constructor() {
    /** @type {Map<string, Binding>} the console's own */
    this.own = new Map();
    /** @type {Map<string, Binding>} actions of the vocabulary, by small letter */
    this.actions = new Map();
    /** @type {(() => void) | null} what Escape closes */
    this.onEscape = null;
    this.ended = false;
    this.on = true;
    try {
      this.on = localStorage.getItem(SETTING) !== "off";
    } catch {
      this.on = true;
    }
    addEventListener("keydown", (event) => this.pressed(event));
  }

  /** Switch keys off or on, on this device. */
  turn() {
    this.on = !this.on;
    document.documentElement.classList.remove("has-keys");
    try {
      localStorage.setItem(SETTING, this.on ? "on" : "off");
    } catch {
      // kept for this page only
    }
  }

  /** Let no key work the console any more: it is covered. */
  end() {
    this.ended = true;
  }

  /** @param {Binding} binding */
  add(binding) {
    this.own.set(binding.key, binding);
  }

  /** @param {readonly Binding[]} bindings */
  setActions(bindings) {
    this.actions = new Map(bindings.map((binding) => [binding.key.toLowerCase(), binding]));
  }

  /** @param {KeyboardEvent} event */
  pressed(event) {
    if (this.ended || event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
    if (event.key === "Escape") {
      this.onEscape?.();
      return;
    }
    // a key in a field may be one of the screen's own
    if (!this.on || isTyping(event.target)) return;
    document.documentElement.classList.add("has-keys");
    const onButton = event.target instanceof Element && event.target !== document.body;
    if (onButton && (event.key === "Enter" || event.key === " ")) return; // they press it
    const { key } = event;
    const letter = event.shiftKey ? key.toUpperCase() : key.toLowerCase(); // Caps Lock or not
    const typed = key.length === 1 ? letter : key;
    const binding = this.own.get(typed) ?? this.actions.get(typed);
    if (!binding) return;
    event.preventDefault();
    if (event.repeat) return;
    binding.run(event.timeStamp);
  }
}
