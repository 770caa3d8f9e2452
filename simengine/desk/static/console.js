/**
 * The facilitator console: puts its parts together.
 */

/** @typedef {import("./types.js").ConsoleView} ConsoleView */

import { asideItems } from "./aside.js";
import { Awake } from "./awake.js";
import { ServerClock } from "./clock.js";
import { drawCot } from "./cot.js";
import { Desk } from "./desk.js";
import { Dock, touchStamp } from "./dock.js";
import { byId, make, part, put, say } from "./dom.js";
import { showEntry } from "./entry.js";
import { ExpectedList } from "./expected.js";
import { Head } from "./head.js";
import { Keys } from "./keys.js";
import { Lanes } from "./lanes.js";
import { showCatchUp, showKeys, showLane, showRecord, showSearch, showStates } from "./lists.js";
import { Marks } from "./marks.js";
import { restoreExpected, showMenu, switches } from "./menu.js";
import { Recorder } from "./recorder.js";
import { hideTheRest, may } from "./rights.js";
import { showCues, showEnd, showFaults, showPeople, showReveals, showSkip } from "./room.js";
import { Sound } from "./sound.js";
import { Stream } from "./stream.js";
import { Tape } from "./tape.js";

const TICK_MS = 200;
const NOTICE_MS = 4_000;

class Console {
  constructor() {
    const { view, stream, events } = document.body.dataset;
    /** @type {ConsoleView} */
    const first = JSON.parse(view ?? "");
    this.clock = new ServerClock("/time");
    this.clock.roughly(first.now.opened_at_ms + first.now.log_ms);
    this.clock.keepAsking();
    this.notices = byId("notices");
    this.up = true;
    /** @type {Desk | null} */
    this.ready = null;
    const recorder = new Recorder(
      first,
      events ?? "",
      this.clock,
      () => this.waitingChanged(),
      (words) => this.notice(words),
    );
    this.recorder = recorder;
    this.desk = new Desk(recorder, new Dock(), (words) => this.notice(words));
    this.sound = new Sound();
    this.marks = new Marks(this.sound);
    this.head = new Head(this.desk);
    this.lanes = new Lanes(byId("lanes"), this.desk, (lane) => showLane(this.desk, lane));
    this.expected = new ExpectedList(this.desk);
    this.tape = new Tape(
      byId("tape-axis"),
      this.desk,
      (id) => showEntry(this.desk, id),
      (ids) => showRecord(this.desk, new Set(ids)),
    );
    this.keys = new Keys();
    this.awake = new Awake();
    this.turns = switches(this.desk, this.head, this.sound, this.keys);
    hideTheRest();
    this.bind();
    restoreExpected();
    this.ready = this.desk;
    this.take(first);
    new Stream(
      stream ?? "",
      (next) => this.take(next),
      (up) => this.link(up),
    );
    setInterval(() => this.tick(), TICK_MS);
  }

  /** @param {ConsoleView} view */
  take(view) {
    if (view.version < this.recorder.view.version) return;
    this.recorder.view = view;
    this.keys.setActions(
      Object.values(view.actions).flatMap(({ key, name, label }) =>
        key === null
          ? []
          : [{ key, shown: key, words: label, run: (stamp) => this.actByKey(name, stamp) }],
      ),
    );
    if (view.closed === "safety stop") this.blank();
    say(byId("band"), view.banner.band);
    this.draw();
  }

  /** @param {string} name @param {number} stamp */
  actByKey(name, stamp) {
    this.desk.act(name, this.desk.usualRole(name), stamp);
  }

  draw() {
    const { view } = this.recorder;
    this.recorder.pruneMoves();
    this.lanes.draw();
    this.desk.dock.redraw?.();
    const closed = view.closed !== null;
    this.awake.follow(!closed);
    byId("closed").hidden = !closed;
    if (closed) {
      drawCot(view.cot, may("returned") ? `/s/${view.session}/return` : undefined);
      say(byId("closed-why"), `This session is over: ${view.closed}.`);
      this.desk.dock.close();
    }
    const atEnd = view.states.some(({ here, ends }) => here && ends);
    byId("cot").hidden = closed || !atEnd || !view.returns_cot || view.returned;
    this.tick();
  }

  tick() {
    const { view } = this.recorder;
    const now = this.recorder.now();
    this.head.tick();
    this.lanes.tick();
    this.expected.tick();
    this.tape.tick();
    const waits = this.recorder.unsent;
    const kept = `${view.kept} entries kept${waits > 0 ? ` · ${waits} waiting` : ""}`;
    say(byId("kept"), kept);
    const aside = this.recorder.outbox.aside.length;
    byId("aside").hidden = aside === 0;
    say(byId("aside"), `${aside} refused`);
    const pause = byId("pause");
    say(part(pause, "span"), this.recorder.paused ? "Resume" : "Pause");
    put(pause, "aria-pressed", String(this.recorder.paused));
    put(byId("same"), "aria-pressed", String(this.recorder.sameMoment));
    put(byId("said"), "aria-pressed", String(this.desk.way !== null));
    const { undo, redo } = this.recorder.steps;
    const last = undo.at(-1)?.words;
    say(part(byId("undo"), "span"), last ? `Undo: ${last}` : "Undo");
    put(byId("redo"), "disabled", redo.length === 0);
    this.drawMark(now);
    this.drawLink(waits);
  }

  /** @param {number} now */
  drawMark(now) {
    const mark = this.marks.now(this.recorder.view.clock, now);
    byId("head-clock").classList.toggle("marked", mark !== null);
    const sign = byId("mark");
    sign.hidden = mark === null;
    if (!mark) return;
    say(part(sign, "span"), [mark.words, mark.prompt_words].filter(Boolean).join(": "));
    const answer = byId("mark-answer");
    answer.hidden = mark.prompts === null;
    put(answer, "data-acts", mark.prompts ?? undefined);
  }

  /** @param {number} waits */
  drawLink(waits) {
    const { stored, trouble } = this.recorder.outbox;
    const link = byId("link");
    link.hidden = this.up && stored && trouble === "";
    const kept = stored
      ? "Carry on: entries are kept on this device"
      : "This browser keeps nothing: do not close the page while entries are waiting";
    const lost = trouble || (this.up ? "" : "The server can't be reached.");
    say(link, `${lost} ${kept}${waits > 0 ? `, ${waits} waiting` : ""}.`.trim());
  }

  /** @param {boolean} up */
  link(up) {
    this.up = up;
    if (up) this.recorder.outbox.go();
    this.tick();
  }

  waitingChanged() {
    if (this.ready) this.draw();
  }

  /** @param {string} words */
  notice(words) {
    const notice = make("p", { class: "notice" }, words);
    this.notices.replaceChildren(notice);
    setTimeout(() => notice.remove(), NOTICE_MS);
  }

  /** A real patient: every screen goes blank at once, whatever the server does. */
  stop() {
    if (this.recorder.view.closed === null) {
      this.recorder.record("closed", { why: "safety stop" });
    }
    this.blank();
  }

  blank() {
    const { cot, session } = this.recorder.view;
    drawCot(cot, may("returned") ? `/s/${session}/return` : undefined);
    const blank = byId("blank");
    if (!blank.hidden) return;
    this.desk.dock.close();
    this.keys.end();
    for (const covered of document.querySelectorAll("body > :not(#blank)"))
      covered.toggleAttribute("inert", true); // out of reach of keys, too
    blank.hidden = false;
    blank.focus();
  }

  /** @param {string} why */
  close(why) {
    this.recorder.record("closed", { why });
    this.desk.dock.close();
  }

  bind() {
    const { desk, keys } = this;
    /** @type {[string, string, string, (stamp: number) => void, string?][]} */
    const functions = [
      ["!", "!", "STOP: real patient", () => this.stop(), "stop"],
      ["z", "Z", "Undo", () => desk.undo(), "undo"],
      ["Z", "⇧Z", "Redo what was undone", () => desk.redo(), "redo"],
      ["V", "⇧V", "Mark this moment for the debrief", (stamp) => desk.mark(stamp), "mark-this"],
      ["I", "⇧I", "The next action was only said", () => this.said(), "said"],
      ["p", "P", "Pause and resume", () => desk.pause(), "pause"],
      ["B", "⇧B", "The event being waited for", (stamp) => this.event(stamp), "event"],
      ["H", "⇧H", "Hold automatic steps, and release", () => desk.hold(), "hold"],
      ["G", "⇧G", "Go to a state", () => showStates(desk), "states"],
      ["/", "/", "Find any action or setting", () => showSearch(desk), "search"],
      ["-", "-", "Same moment as the last", () => this.same(), "same"],
      [",", ",", "Last entry 1 s earlier", () => desk.moveLast(-1_000)],
      [".", ".", "Last entry 1 s later", () => desk.moveLast(1_000)],
      ["<", "<", "Last entry 5 s earlier", () => desk.moveLast(-5_000)],
      [">", ">", "Last entry 5 s later", () => desk.moveLast(5_000)],
      ["L", "⇧L", "All entries", () => showRecord(desk), "record"],
      ["A", "⇧A", "Refused entries", () => this.showAside(), "aside"],
      ["N", "⇧N", "Cues and notes", () => showCues(desk), "cues"],
      ["M", "⇧M", "Menu", () => this.menu(), "menu"],
      ["E", "⇧E", "End the session", () => showEnd(desk, (why) => this.close(why)), "end"],
      ["Enter", "Enter", "Into the open panel", () => desk.dock.enter()],
    ];
    for (const [key, shown, words, run, id] of functions) {
      if (id && byId(id).classList.contains("not-here")) continue;
      keys.add({ key, shown, words, run });
      if (id) byId(id).addEventListener("click", (event) => run(touchStamp(event)));
    }
    for (const nudge of document.querySelectorAll("[data-nudge]")) {
      const by = Number(nudge.getAttribute("data-nudge"));
      nudge.addEventListener("click", () => desk.moveLast(by));
    }
    for (const panel of this.panels()) keys.add(panel);
    for (const { key, words, turn } of this.turns) {
      const run = () => {
        turn();
        this.draw();
      };
      keys.add({ key, shown: `⇧${key}`, words: `${words}: on or off`, run });
    }
    keys.onEscape = () => desk.dock.close();
    byId("mark-answer").addEventListener("click", (event) => {
      const name = byId("mark-answer").dataset.acts;
      if (name) this.actByKey(name, touchStamp(event));
    });
  }

  /** @param {number} stamp */
  event(stamp) {
    const name = this.recorder.view.coming.find(({ on }) => on !== null)?.on;
    if (name) this.recorder.record("event", { name }, stamp);
  }

  /** What the server refused, until it is let go. */
  showAside() {
    const { recorder, desk } = this;
    const list = make("div", { class: "dock-list" });
    const draw = () => {
      const shown = (/** @type {number} */ log) =>
        recorder.scenario(log) - (recorder.view.clock.zero_ms ?? 0);
      const items = asideItems(recorder.outbox, shown, draw);
      list.replaceChildren(...(items.length > 0 ? items : [make("p", {}, "Nothing was refused.")]));
    };
    draw();
    desk.dock.show("aside", "Refused, and kept on this device only", [list], { redraw: draw });
  }

  said() {
    this.desk.saidOnly();
    this.tick();
  }

  same() {
    this.recorder.sameMoment = !this.recorder.sameMoment;
    this.tick();
  }

  /** @returns {import("./keys.js").Binding[]} what is opened from the menu or by key */
  panels() {
    const { desk, keys } = this;
    /** @type {[string, string, () => void, string][]} */
    const panels = [
      ["C", "Several at one moment", () => showCatchUp(desk), "action"],
      ["R", "People and roles", () => showPeople(desk), "joined"],
      ["O", "Show or hide an observation", () => showReveals(desk), "reveal"],
      ["F", "Planted faults", () => showFaults(desk), "fault"],
      ["K", "Shorten a long task", () => showSkip(desk), "skip"],
    ];
    return [
      ...panels
        .filter(([, , , kind]) => may(kind))
        .map(([key, words, run]) => ({ key, shown: `⇧${key}`, words, run })),
      { key: "?", shown: "?", words: "Keys", run: () => showKeys(desk, keys) },
    ];
  }

  menu() {
    showMenu(this.desk, this.panels(), this.turns, () => this.draw());
  }
}

new Console();
