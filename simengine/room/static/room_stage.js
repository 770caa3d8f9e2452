/**
 * What the room shows at a step: the same on the wall and on the tablet that leads.
 *
 * Rules of this file:
 * - What is shown follows from the content and the view alone.
 * - Text goes in as text.
 */

/** @typedef {import("./room_types.js").Content} Content */
/** @typedef {import("./room_types.js").Moment} Moment */
/** @typedef {import("./room_types.js").Person} Person */
/** @typedef {import("./room_types.js").View} View */

import { make, part, put, say } from "./dom.js";
import { Picture } from "./room_picture.js";
import { lastBegun } from "./room_place.js";
import { clockText, unitText } from "./times.js";

const ACTS_SHOWN = 4;

export class Stage {
  /**
   * @param {HTMLElement} host
   * @param {Content} content
   */
  constructor(host, content) {
    this.host = host;
    this.content = content;
    this.picture = new Picture(part(host, ".walk .picture"), content);
    this.shownMoment = "";
    fill(part(host, ".score-lines"), content.score);
  }

  /** @param {View} view @param {number} at */
  show(view, at) {
    for (const step of this.host.querySelectorAll("[data-step]")) {
      if (step instanceof HTMLElement) step.hidden = step.dataset.step !== view.step;
    }
    this.showGoals(view.people);
    this.showWalk(at);
    this.showMoment(view);
    this.showAlong(view.people);
  }

  /** @param {Person[]} people */
  showGoals(people) {
    const goals = people.filter(({ goal }) => goal !== "");
    part(this.host, ".goals").hidden = goals.length === 0;
    fill(part(this.host, ".goals ul"), goals.map(({ code, goal }) => said(code, goal)));
  }

  /** @param {number} at */
  showWalk(at) {
    const { host, content } = this;
    this.picture.show(at);
    say(part(host, ".beside .time"), clockText(at));
    say(part(host, ".beside .state"), lastBegun(content.states, at)?.title ?? "");
    fill(part(host, ".beside .known"), lastBegun(content.known, at)?.lines ?? []);
    const acts = content.acts.filter(({ at_ms: done }) => done <= at).slice(-ACTS_SHOWN);
    fill(part(host, ".beside .acts"), acts.map(({ at_ms: done, words }) => `${clockText(done)}  ${words}`));
    const stopped = content.stops.some(({ at_ms: stop }) => stop === at);
    part(host, ".beside .stopped").hidden = !stopped;
  }

  /** @param {View} view */
  showMoment(view) {
    const moment = this.content.moments.find(({ id }) => id === view.moment) ?? null;
    part(this.host, ".no-moment").hidden = moment !== null;
    part(this.host, ".moment").hidden = moment === null;
    if (!moment) return;
    if (this.shownMoment !== moment.id) {
      this.shownMoment = moment.id;
      this.drawMoment(moment);
    }
    part(this.host, ".what-if").hidden = !view.what_if || moment.what_if === "";
  }

  /** @param {Moment} moment */
  drawMoment(moment) {
    const { host } = this;
    say(part(host, ".moment .kind"), `${moment.heading}, ${clockText(moment.at_ms)}`);
    say(part(host, ".moment h3"), moment.title);
    fill(part(host, ".moment .seen"), moment.seen);
    say(part(host, ".moment .done"), unitText(moment.done));
    say(part(host, ".moment .asked"), unitText(moment.asked));
    say(part(host, ".moment .why"), unitText(moment.why));
    part(host, ".moment .why").hidden = moment.why === "";
    say(part(host, ".what-if .told"), unitText(moment.what_if));
    const frame = part(host, ".what-if .picture");
    frame.replaceChildren();
    if (moment.what_if === "") return;
    new Picture(frame, this.content, moment.others).show(moment.at_ms);
  }

  /** @param {Person[]} people */
  showAlong(people) {
    const along = people.filter((person) => person.along !== "");
    part(this.host, ".none-yet").hidden = along.length > 0;
    fill(part(this.host, ".along"), along.map((person) => said(person.code, person.along)));
  }
}

/**
 * @param {string} code empty where people are not told apart
 * @param {string} words
 * @returns {string}
 */
function said(code, words) {
  return code === "" ? words : `${code}: ${words}`;
}

/**
 * Let a list hold these lines, touching the page only where one changes.
 *
 * @param {HTMLElement} list
 * @param {readonly string[]} lines
 */
export function fill(list, lines) {
  while (list.children.length > lines.length) list.lastElementChild?.remove();
  lines.forEach((line, number) => {
    const there = list.children[number];
    if (there) say(there, unitText(line));
    else list.append(make("li", {}, unitText(line)));
  });
  put(list, "data-lines", String(lines.length));
}
