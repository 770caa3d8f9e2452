/**
 * The wall: follows the tablet that leads, and needs no hand of its own.
 *
 * Rules of this file:
 * - A room that is opened, a record that has changed and a score that is asked for load the page again,
 *   with what it may hold then; while it waits and after the end it shows one sentence.
 */

/** @typedef {import("./room_types.js").Content} Content */
/** @typedef {import("./room_types.js").View} View */

import { Awake } from "./awake.js";
import { ServerClock } from "./clock.js";
import { byId } from "./dom.js";
import { placeOf } from "./room_place.js";
import { Stage } from "./room_stage.js";
import { Stream } from "./stream.js";

const LEAST_FIT = 0.5;

class Wall {
  constructor() {
    this.fitted = "";
    this.frame = 0;
    const { content, view, stream } = document.body.dataset;
    /** @type {Content | null} */
    this.content = JSON.parse(content ?? "null");
    /** @type {View} */
    this.view = JSON.parse(view ?? "");
    this.stage = this.content ? new Stage(byId("stage"), this.content) : null;
    this.awake = new Awake();
    this.clock = new ServerClock("/time");
    this.clock.roughly(Number(document.body.dataset.now));
    this.clock.keepAsking();
    this.draw();
    new Stream(
      stream ?? "",
      (next) => this.take(next),
      (up) => (byId("link").hidden = up),
    );
    addEventListener("resize", () => this.draw());
    void document.fonts.ready.then(() => this.draw());
  }

  /** @param {View} view */
  take(view) {
    const { version, with_score: withScore } = this.view;
    const anew =
      view.open &&
      (this.content === null || view.version !== version || view.with_score !== withScore);
    this.view = view;
    if (anew) location.reload();
    else this.draw();
  }

  /** Show what stands there, and go on with each frame while it plays. */
  draw() {
    cancelAnimationFrame(this.frame);
    const { view, content, stage } = this;
    const shown = view.open && content !== null && stage !== null;
    this.awake.follow(shown);
    byId("stage").hidden = !shown;
    byId("waiting").hidden = view.open || content !== null;
    byId("over").hidden = view.open || content === null;
    if (!shown) return;
    const { at, runs } = placeOf(view, content, this.clock.now());
    if (runs) this.frame = requestAnimationFrame(() => this.draw());
    stage.show(view, at);
    const now = `${view.step} ${view.moment} ${view.what_if} ${view.people.length} ${innerWidth}`;
    if (view.speed === 0 || now !== this.fitted) fit(byId("stage"));
    this.fitted = now;
  }
}

/**
 * Make the letters of a step as large as the wall holds without being scrolled.
 *
 * @param {HTMLElement} stage
 */
function fit(stage) {
  const page = document.documentElement;
  for (let size = 1; size >= LEAST_FIT; size -= 0.05) {
    stage.style.setProperty("--fit", size.toFixed(2));
    if (page.scrollHeight <= innerHeight) return;
  }
}

new Wall();
