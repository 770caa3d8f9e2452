/**
 * The tablet that leads the room: the same picture as the wall, with the hands beside it.
 *
 * Rules of this file:
 * - Each touch is told to the server, which tells every screen; what stands here follows from that,
 *   so two tablets agree.
 * - The facilitator's own words stand here alone.
 * - What people typed is kept as soon as they leave the field, and the page says so.
 */

/** @typedef {import("./room_types.js").Content} Content */
/** @typedef {import("./room_types.js").View} View */

import { Awake } from "./awake.js";
import { ServerClock } from "./clock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { Keys } from "./keys.js";
import { lastBegun, placeOf, within } from "./room_place.js";
import { Stage } from "./room_stage.js";
import { Stream } from "./stream.js";
import { clockText } from "./times.js";

const STEPS = ["feelings", "story", "reasons", "along", "score"];
const A_WHILE_MS = 5_000;
/** What the slider moves by: whole seconds of the clock are among its places. */
const NOTCH_MS = 500;

class Lead {
  constructor() {
    const { content, view, stream, session, now } = document.body.dataset;
    /** @type {Content} */
    this.content = JSON.parse(content ?? "");
    /** @type {View} */
    this.view = JSON.parse(view ?? "");
    this.address = `/s/${session}/room`;
    this.stage = new Stage(byId("stage"), this.content);
    this.speed = 4;
    /** The slider is under a finger, so the server's word waits. */
    this.slides = false;
    this.frame = 0;
    this.clock = new ServerClock("/time");
    this.clock.roughly(Number(now));
    this.clock.keepAsking();
    new Awake().follow(true);
    this.drawStops();
    this.drawMoments();
    this.bind();
    this.bindKeys();
    this.draw();
    new Stream(
      stream ?? "",
      (next) => this.take(next),
      (up) => (byId("link").hidden = up),
    );
  }

  /** @returns {{ at: number, runs: boolean }} */
  place() {
    return placeOf(this.view, this.content, this.clock.now());
  }

  /** @param {View} view */
  take(view) {
    const anew = view.version !== this.view.version;
    this.view = view;
    if (anew) location.reload();
    else this.draw();
  }

  // --- telling the server -----------------------------------------------------------------------

  /** @param {Record<string, unknown>} position */
  async tell(position) {
    await this.post("show", position);
  }

  /**
   * @param {string} what
   * @param {Record<string, unknown>} sent
   * @returns {Promise<boolean>} whether it was taken
   */
  async post(what, sent) {
    const token = document.querySelector('meta[name="csrf"]');
    const headers = {
      "Content-Type": "application/json",
      "X-CSRF-Token": token instanceof HTMLMetaElement ? token.content : "",
    };
    try {
      const answer = await fetch(`${this.address}/${what}`, {
        method: "POST",
        headers,
        body: JSON.stringify(sent),
      });
      const words = await answer.json();
      if (answer.ok) this.take(words);
      say(byId("refused"), answer.ok ? "" : words.words);
      return answer.ok;
    } catch {
      say(byId("refused"), "The server did not answer. Try again.");
      return false;
    }
  }

  /** @param {number} at @param {number} [speed] */
  go(at, speed = 0) {
    void this.tell({ at_ms: Math.round(within(at, this.content)), speed });
  }

  play() {
    const { at, runs } = this.place();
    const ended = at >= this.content.end_ms;
    if (runs) this.go(at);
    else this.go(ended ? Math.max(this.content.start_ms, 0) : at, this.speed);
  }

  /** @param {number} way 1 or -1 */
  toStop(way) {
    const { at } = this.place();
    const { stops, start_ms: start, end_ms: end } = this.content;
    const places = [start, ...stops.map((stop) => stop.at_ms), end];
    const place =
      way > 0 ? places.find((each) => each > at) : places.findLast((each) => each < at);
    this.go(place ?? at);
  }

  /** @param {number} way 1 or -1 */
  toMoment(way) {
    const { moments } = this.content;
    const now = moments.findIndex(({ id }) => id === this.view.moment);
    const next = moments[Math.min(Math.max(now + way, 0), moments.length - 1)];
    if (next) void this.tell({ moment: next.id });
  }

  // --- binding ----------------------------------------------------------------------------------

  bind() {
    for (const tab of document.querySelectorAll("[data-go]")) {
      if (!(tab instanceof HTMLElement)) continue;
      tab.addEventListener("click", () => void this.tell({ step: tab.dataset.go }));
    }
    const slider = input("slider");
    slider.min = String(Math.floor(this.content.start_ms / NOTCH_MS) * NOTCH_MS);
    slider.max = String(Math.ceil(this.content.end_ms / NOTCH_MS) * NOTCH_MS);
    slider.step = String(NOTCH_MS);
    slider.addEventListener("input", () => {
      this.slides = true;
      this.stage.showWalk(Number(slider.value));
    });
    slider.addEventListener("change", () => {
      this.slides = false;
      this.go(Number(slider.value));
    });
    byId("play").addEventListener("click", () => this.play());
    byId("stop-before").addEventListener("click", () => this.toStop(-1));
    byId("stop-after").addEventListener("click", () => this.toStop(1));
    for (const speed of document.querySelectorAll('input[name="speed"]')) {
      if (!(speed instanceof HTMLInputElement)) continue;
      speed.addEventListener("change", () => {
        this.speed = Number(speed.value);
        const { at, runs } = this.place();
        if (runs) this.go(at, this.speed);
      });
    }
    byId("what-if").addEventListener("click", () => void this.tell({ what_if: !this.view.what_if }));
    for (const name of ["codes", "with_score"]) {
      const box = input(name);
      box.addEventListener("change", () => void this.tell({ [name]: box.checked }));
    }
  }

  bindKeys() {
    const keys = new Keys();
    /** @param {string} key @param {string} words @param {() => void} run */
    const add = (key, words, run) => keys.add({ key, shown: key, words, run });
    STEPS.forEach((step, number) => add(String(number + 1), step, () => void this.tell({ step })));
    add(" ", "play or pause", () => this.play());
    add("ArrowLeft", "back", () => this.back(-1));
    add("ArrowRight", "on", () => this.back(1));
    add("[", "the previous stop", () => this.toStop(-1));
    add("]", "the next stop", () => this.toStop(1));
    add("w", "what if", () => void this.tell({ what_if: !this.view.what_if }));
    add("W", "what if", () => void this.tell({ what_if: !this.view.what_if }));
  }

  /** @param {number} way */
  back(way) {
    if (this.view.step === "reasons") this.toMoment(way);
    else if (this.view.step === "story") this.go(this.place().at + way * A_WHILE_MS);
  }

  // --- drawing ----------------------------------------------------------------------------------

  drawStops() {
    const list = byId("stops");
    for (const { at_ms: at, words } of this.content.stops) {
      const go = make("button", { type: "button" }, `${clockText(at)}  ${words || "marked"}`);
      go.addEventListener("click", () => this.go(at));
      list.append(make("li", {}, go));
    }
    byId("no-stops").hidden = this.content.stops.length > 0;
  }

  drawMoments() {
    const list = byId("moments");
    for (const { id, title, heading, at_ms: at } of this.content.moments) {
      const go = make(
        "button",
        { type: "button", "data-moment": id },
        make("span", { class: "soft" }, `${heading}, ${clockText(at)}`),
        make("span", {}, title),
      );
      go.addEventListener("click", () => void this.tell({ moment: id }));
      list.append(make("li", {}, go));
    }
  }

  /** Show where it stands, and go on with each frame while it plays. */
  draw() {
    const { view, content } = this;
    const { at, runs } = this.place();
    cancelAnimationFrame(this.frame);
    if (runs) this.frame = requestAnimationFrame(() => this.draw());
    this.stage.show(view, this.slides ? Number(input("slider").value) : at);
    for (const tab of document.querySelectorAll("[data-go]")) {
      if (!(tab instanceof HTMLElement)) continue;
      put(tab, "aria-current", tab.dataset.go === view.step ? "step" : undefined);
      if (tab.dataset.go === "score") tab.hidden = !view.with_score;
    }
    for (const hands of document.querySelectorAll("[data-hands]")) {
      if (hands instanceof HTMLElement) hands.hidden = hands.dataset.hands !== view.step;
    }
    say(byId("play"), runs ? "Pause" : "Play");
    const slider = input("slider");
    if (!this.slides) slider.value = String(Math.round(at));
    put(slider, "aria-valuetext", clockText(Number(slider.value)));
    const note = lastBegun(content.stops, at);
    const here = note !== null && at - note.at_ms < A_WHILE_MS;
    byId("note").hidden = !here;
    say(byId("note"), here ? note.words || "You marked this." : "");
    const moment = content.moments.find(({ id }) => id === view.moment);
    for (const button of byId("moments").querySelectorAll("button")) {
      put(button, "aria-pressed", String(button.dataset.moment === view.moment));
    }
    const ask = byId("what-if");
    put(ask, "aria-pressed", String(view.what_if));
    put(ask, "disabled", !moment || moment.what_if === "");
    this.drawAgain(moment?.again ?? null);
    input("codes").checked = view.codes;
    input("with_score").checked = view.with_score;
    this.drawPeople("goals-typed", "goal");
    this.drawPeople("along-typed", "along");
  }

  /** @param {import("./room_types.js").Retryable | null} again */
  drawAgain(again) {
    const button = byId("again");
    button.hidden = again === null;
    if (again === null) return;
    put(button, "value", again.event);
    say(button, `Try again: ${again.words}`);
  }

  /** @param {string} id @param {"goal" | "along"} which */
  drawPeople(id, which) {
    keep(
      byId(id),
      this.view.people,
      ({ code }) => code,
      ({ code }) => this.field(code, which),
      (element, person) => {
        const field = part(element, "input");
        if (field instanceof HTMLInputElement && field !== document.activeElement) {
          field.value = person[which];
        }
      },
    );
  }

  /** @param {string} code @param {"goal" | "along"} which */
  field(code, which) {
    const kind = which === "along" ? "take along" : "goal";
    const typed = make("input", { maxlength: "500", autocomplete: "off" });
    const kept = make("span", { class: "hint", role: "status" });
    typed.addEventListener("input", () => say(kept, "not kept yet"));
    typed.addEventListener("change", async () => {
      const taken = await this.post("words", { code, kind, words: typed.value });
      say(kept, taken ? "kept" : "not kept: try again");
    });
    return make("label", { class: "field" }, make("span", {}, code, " ", kept), typed);
  }
}

/**
 * @param {string} id
 * @returns {HTMLInputElement}
 */
function input(id) {
  const field = byId(id);
  if (!(field instanceof HTMLInputElement)) throw new Error(`#${id} is no field`);
  return field;
}

new Lead();
