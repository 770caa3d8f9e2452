/**
 * Playing a scenario alone: what is shown, and what a touch does.
 *
 * Rules of this file:
 * - What is touched is a button with the name of what it does; nothing needs a drag or a picture.
 * - A touch is sent at once and shown as soon as the server has it for good; nothing is guessed.
 * - What changes by itself second by second is not read aloud; what was found, said or refused is.
 * - Whoever comes to something by keys sees it below the head, however much that says.
 * - Whoever is at something that goes away is taken to what can be done, never left nowhere.
 */

/** @typedef {import("./rehearsal_types.js").PlayView} PlayView */
/** @typedef {import("./rehearsal_types.js").Group} Group */
/** @typedef {import("./rehearsal_types.js").Act} Act */

import { Awake } from "./awake.js";
import { ServerClock } from "./clock.js";
import { byId, keep, make, part, put, say } from "./dom.js";
import { newId } from "./post.js";
import { Beats } from "./rehearsal_beats.js";
import { askFor } from "./rehearsal_ask.js";
import { CotPanel } from "./rehearsal_cot.js";
import { dialOf, drawDial } from "./rehearsal_dial.js";
import { Gauges, gauge } from "./rehearsal_gauge.js";
import { drawHandle, handleOf } from "./rehearsal_handle.js";
import { Stream } from "./stream.js";
import { capital, clockText, leftText, spanText, unitText } from "./times.js";
import { filled } from "./words.js";

const TICK_MS = 250;
const FOCUS_PX = 8; // what a focus ring takes

class Play {
  constructor() {
    const { view, groups, words, now, session } = document.body.dataset;
    this.address = `/rehearse/${session}`;
    /** @type {PlayView} */
    this.view = JSON.parse(view ?? "{}");
    /** @type {Group[]} */
    this.groups = JSON.parse(groups ?? "[]");
    /** @type {Record<string, string>} */
    this.words = JSON.parse(words ?? "{}");
    this.clock = new ServerClock("/time");
    this.clock.roughly(Number(now));
    this.clock.keepAsking();
    this.beats = new Beats();
    this.awake = new Awake();
    /** @type {Map<string, string>} what was read aloud of each line last */
    this.readOut = new Map();
    this.first = true;
    /** Who does what is touched: empty for oneself. It stays where it is put. */
    this.by = "";
    this.gauges = new Gauges(() => this.now());
    this.cot = new CotPanel(
      this.groups.flatMap(({ places }) => places),
      (name, control, value) => this.work(name, control, value),
      (key, places) => this.word(key, places),
      this.gauges,
    );
    this.open = this.groups[0]?.name ?? "";
    this.drawGroups();
    this.bind();
    this.keepClear();
    this.draw();
    new Stream(
      `${this.address}/stream`,
      (next) => this.take(next),
      (up) => {
        byId("link").hidden = up;
        say(byId("link"), up ? "" : this.word("no_answer"));
      },
    );
    setInterval(() => this.tick(), TICK_MS);
  }

  /**
   * @param {string} key
   * @param {Record<string, string>} [places]
   */
  word(key, places = {}) {
    return (this.words[key] ?? key).replace(/\{(\w+)\}/g, (whole, name) => places[name] ?? whole);
  }

  /** @param {PlayView} view */
  take(view) {
    if (view.version < this.view.version) return;
    this.view = view;
    this.draw();
    if (view.closed === "safety stop") this.blank();
    else if (view.closed) location.assign(`${this.address}/after`);
  }

  /** @returns {number} scenario time now, ms */
  now() {
    const { opened_at_ms: opened, log_ms: log, scenario_ms: scenario, runs } = this.view.now;
    return runs ? scenario + Math.max(0, this.clock.now() - opened - log) : scenario;
  }

  /** @param {string} words read aloud and shown */
  tell(words) {
    say(byId("told"), unitText(words));
  }

  /**
   * @param {string} what
   * @param {string} name
   * @param {Record<string, any>} [chosen]
   */
  async send(what, name, chosen = {}) {
    const csrf = document.querySelector('meta[name="csrf"]')?.getAttribute("content") ?? "";
    this.tell(""); // now, so that what is found before the answer comes is not wiped out by it
    try {
      const response = await fetch(`${this.address}/do`, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRF-Token": csrf },
        body: JSON.stringify({ id: newId(), do: what, name, chosen }),
      });
      const answer = await response.json();
      if (answer.words) this.tell(answer.words);
    } catch {
      this.tell(this.word("no_answer"));
    }
  }

  /**
   * @param {string} name a part of the cot
   * @param {string} control
   * @param {unknown} value
   */
  work(name, control, value) {
    return this.send("cot", name, { control, value, by: this.by });
  }

  /** A real patient: the screen goes blank at once, whatever the server does. */
  blank() {
    if (!byId("blank").hidden) return;
    this.beats.stop();
    for (const open of document.querySelectorAll("dialog[open]"))
      /** @type {HTMLDialogElement} */ (open).close();
    part(document.body, "main").inert = true; // what is covered is out of reach of keys, too
    byId("blank").hidden = false;
    byId("blank").focus();
  }

  /**
   * Things that get the focus are scrolled clear of the head, which covers what is under it; so is
   * what has it, once the head says more.
   */
  keepClear() {
    const head = part(document.body, ".head");
    new ResizeObserver(() => {
      const ends = parseFloat(getComputedStyle(head).top) + head.offsetHeight;
      document.documentElement.style.scrollPaddingTop = `${Math.ceil(ends) + FOCUS_PX}px`;
      const here = document.activeElement;
      if (!here?.matches(":focus-visible") || head.contains(here)) return;
      const { top, bottom } = here.getBoundingClientRect();
      if (top < ends && bottom > 0) here.scrollIntoView({ block: "nearest" });
    }).observe(head);
  }

  bind() {
    byId("stop").addEventListener("click", () => {
      this.blank();
      void this.send("stop", "");
    });
    byId("ready").addEventListener("click", () => void this.send("begin", ""));
    byId("pause").addEventListener("click", () => {
      void this.send(this.view.now.paused ? "resume" : "pause", "");
    });
    const sure = /** @type {HTMLDialogElement} */ (byId("end-sure"));
    byId("end").addEventListener("click", () => sure.showModal());
    byId("end-no").addEventListener("click", () => sure.close());
    byId("end-yes").addEventListener("click", () => {
      sure.close();
      void this.send("end", "");
    });
    for (const button of document.querySelectorAll("[data-skip]")) {
      const ms = Number(button.getAttribute("data-skip"));
      button.addEventListener("click", () => void this.send("skip", "", { ms }));
    }
    byId("sound").addEventListener("click", () => {
      this.beats.turn();
      this.draw();
    });
    byId("tabs").addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!step) return;
      const place = this.groups.findIndex(({ name }) => name === this.open) + step;
      const next = this.groups[(place + this.groups.length) % this.groups.length];
      if (next) this.show(next.name, true);
      event.preventDefault();
    });
  }

  // --- what is done ------------------------------------------------------------------------------

  drawGroups() {
    for (const group of this.groups) {
      const tab = make(
        "button",
        {
          type: "button",
          role: "tab",
          id: `tab-${group.name}`,
          "aria-controls": `panel-${group.name}`,
        },
        group.label,
      );
      tab.addEventListener("click", () => this.show(group.name));
      byId("tabs").append(tab);
      const acts = make("div", { class: "acts" }, ...group.acts.map((act) => this.actOf(act)));
      const dials = group.dials.map((dial) =>
        dialOf(dial, (key, places) => this.word(key, places), (value) =>
          void this.send("set", dial.name, { ...value, by: this.by }),
        ),
      );
      const cot_dials = group.cot_dials.map(({ part: name, handle, usual }) =>
        handleOf(
          handle,
          (key, places) => this.word(key, places),
          (value) => void this.work(name, handle.name, value),
          usual,
        ),
      );
      byId("panels").append(
        make(
          "div",
          {
            role: "tabpanel",
            id: `panel-${group.name}`,
            "aria-labelledby": `tab-${group.name}`,
          },
          ...(group.places.length > 0 ? [this.cot.panel] : []),
          ...(group.acts.length > 0 ? [acts] : []),
          ...(group.manometer ? [make("div", { class: "manometer" }, gauge())] : []),
          make("div", { class: "dials" }, ...cot_dials, ...dials),
        ),
      );
    }
    this.show(this.open);
  }

  /**
   * @param {string} name
   * @param {boolean} [focus]
   */
  show(name, focus = false) {
    this.open = name;
    for (const group of this.groups) {
      const here = group.name === name;
      const tab = byId(`tab-${group.name}`);
      put(tab, "aria-selected", String(here));
      put(tab, "tabindex", here ? "0" : "-1");
      byId(`panel-${group.name}`).hidden = !here;
      if (here && focus) tab.focus();
    }
    this.gauges.turn();
  }

  /**
   * @param {Act} act
   * @returns {HTMLElement}
   */
  actOf(act) {
    const button = make(
      "button",
      { type: "button", class: "act", "data-act": act.name },
      make("span", { class: "name" }, act.do),
      make("span", { class: "soft small", "aria-hidden": "true" }),
    );
    button.addEventListener("click", () => {
      this.beats.allow();
      const running = this.view.running.some(({ action }) => action === act.name);
      if (running || (!act.dose && act.choices.length === 0)) {
        void this.send("action", act.name, { by: this.by });
        return;
      }
      askFor(act, (key) => this.word(key), (chosen) =>
        void this.send("action", act.name, { ...chosen, by: this.by }),
      );
    });
    return button;
  }

  // --- what is shown -----------------------------------------------------------------------------

  draw() {
    const { view } = this;
    this.awake.follow(!view.closed);
    say(byId("sound"), this.word(this.beats.on ? "sound_on" : "sound_off"));
    put(byId("sound"), "aria-pressed", String(this.beats.on));
    say(byId("pause"), this.word(view.now.paused ? "resume" : "pause"));
    put(byId("pause"), "aria-pressed", String(view.now.paused));
    this.hide("brief", view.starts_ms === null);
    byId("baby").hidden = view.starts_ms !== null || !view.baby;
    byId("skips").hidden = view.starts_ms !== null;
    say(byId("ready"), view.ready);
    const heard = view.cot?.heard ?? [];
    byId("heard").hidden = heard.length === 0;
    say(byId("heard"), heard.join(" "));
    byId("hint").hidden = view.hint === "";
    say(byId("hint"), view.hint);
    this.drawActs();
    for (const group of this.groups) {
      for (const dial of group.dials) {
        drawDial(
          part(byId(`panel-${group.name}`), `[data-dial="${dial.name}"]`),
          dial,
          view.settings[dial.name] ?? null,
          (key, places) => this.word(key, places),
        );
      }
      this.drawCotDials(group);
    }
    this.cot.draw(view.cot);
    this.drawWho();
    this.drawRunning();
    this.drawHappened();
    this.drawCounting();
    this.tick();
    this.announce();
  }

  /**
   * @param {string} id
   * @param {boolean} gone
   */
  hide(id, gone) {
    const box = byId(id);
    if (gone && box.contains(document.activeElement)) byId(`tab-${this.open}`).focus();
    box.hidden = gone;
  }

  drawActs() {
    for (const { acts } of this.groups) {
      for (const act of acts) {
        const running = this.view.running.find(({ action }) => action === act.name);
        for (const button of document.querySelectorAll(`[data-act="${act.name}"]`)) {
          say(part(button, ".name"), running ? running.stop : act.do);
          put(button, "aria-pressed", act.lasts ? String(Boolean(running)) : undefined);
        }
      }
    }
  }

  /** @param {Group} group */
  drawCotDials(group) {
    const { settings, manometer } = this.view;
    const panel = byId(`panel-${group.name}`);
    for (const { setting, handle } of group.cot_dials) {
      const stands = settings[setting]?.value;
      const at = part(panel, `.dials [data-handle="${handle.name}"]`);
      if (stands !== undefined) {
        drawHandle(at, handle, stands, (key, places) => this.word(key, places));
      }
    }
    const there = panel.querySelector(".manometer .gauge");
    if (manometer && there instanceof HTMLElement) {
      this.gauges.draw(there, this.word("manometer"), manometer);
    }
  }

  /** Who does what is touched: a choice once somebody has come. */
  drawWho() {
    const there = this.view.hands.filter(({ left_to_ms: left }) => left === null);
    byId("who").hidden = there.length < 2;
    keep(
      byId("who-choices"),
      there,
      ({ by }) => `by ${by}`,
      ({ by, who }) => {
        const choice = make("input", { type: "radio", name: "who", value: by });
        choice.checked = by === this.by;
        choice.addEventListener("change", () => {
          this.by = by;
        });
        return make("label", { class: "choice" }, choice, who);
      },
      () => undefined,
    );
  }

  drawRunning() {
    const touches = this.view.running
      .filter(({ keeps }) => keeps)
      .flatMap(({ action, stop, take_over }) => [
        { key: action, words: stop, touch: () => this.send("action", action) },
        ...take_over.map(({ by, words }) => ({
          key: `${action} ${by}`,
          words,
          touch: () => this.send("take over", action, { by }),
        })),
      ]);
    const box = byId("running");
    const within = box.contains(document.activeElement);
    keep(
      box,
      touches,
      ({ key }) => key,
      ({ touch }) => {
        const button = make("button", { type: "button" });
        button.addEventListener("click", () => void touch());
        return button;
      },
      (button, { words }) => say(button, words),
    );
    if (within && !box.contains(document.activeElement)) byId(`tab-${this.open}`).focus();
  }

  drawHappened() {
    const zero = this.view.clock.zero_ms ?? this.view.starts_ms ?? 0;
    keep(
      byId("happened"),
      [...this.view.happened].reverse(),
      ({ id }) => id,
      () => make("li", {}, make("span", { class: "when" }), make("span")),
      (item, { at_ms: at, words }) => {
        say(part(item, ".when"), clockText(at - zero));
        say(part(item, "span:last-child"), unitText(words));
      },
    );
  }

  drawCounting() {
    const { counting } = this.view;
    const box = byId("count");
    this.hide("count", counting === null);
    if (!counting) {
      this.beats.stop();
      return;
    }
    if (box.dataset.of !== counting.id) {
      box.dataset.of = counting.id;
      delete box.dataset.told;
      byId("bands").replaceChildren();
    }
    this.beats.follow(counting, this.view.now, this.now(), this.first);
    this.drawBands();
  }

  drawBands() {
    const { counting } = this.view;
    if (!counting) return;
    const over = this.now() >= counting.until_ms;
    const box = byId("count");
    const silent = !this.beats.on || box.dataset.told === "yes";
    say(byId("count-title"), over ? counting.asks : this.word("count_now"));
    say(byId("counted"), over && silent ? counting.counted : "");
    keep(
      byId("count-more"),
      over && !silent ? ["tell"] : [],
      (key) => key,
      () => {
        const button = make("button", { type: "button" }, this.word("tell_beats"));
        button.addEventListener("click", () => {
          box.dataset.told = "yes";
          this.drawBands();
          part(byId("bands"), "button").focus();
        });
        return button;
      },
      () => undefined,
    );
    if (!over || byId("bands").childElementCount > 0) return;
    const tell = (/** @type {string | number} */ value) =>
      void this.send("tell", counting.id, { observation: counting.observation, value });
    for (const band of counting.bands) {
      const button = make("button", { type: "button" }, capital(band));
      button.addEventListener("click", () => tell(band));
      byId("bands").append(button);
    }
    const figure = make("input", { type: "number", inputmode: "numeric", min: "0", max: "300" });
    const say_it = make("button", { type: "button" }, this.word("say"));
    say_it.addEventListener("click", () => {
      if (figure.value !== "") tell(Number(figure.value));
    });
    byId("bands").append(
      make("label", { class: "field" }, `${this.word("figure")} (${counting.unit})`, figure),
      say_it,
    );
  }

  tick() {
    const { view } = this;
    const now = this.now();
    const { zero_ms: zero, words } = view.clock;
    const starts = view.starts_ms;
    say(byId("time"), clockText(zero === null ? (starts === null ? now : now - starts) : now - zero));
    const event = capital((view.clock.event ?? "").replaceAll("_", " ").replace(/^the /, ""));
    const waits =
      starts === null ? words : this.word("starts_in", { event, left: leftText(starts - now) });
    const about = view.ending ? this.word("ends") : view.now.paused ? this.word("paused") : waits;
    say(byId("about"), about);
    const large = view.lines.filter((line) => line.large);
    say(byId("short"), large.map((line) => filled(line.what, now)).join(" · "));
    say(byId("nothing"), view.lines.length === 0 ? this.word("nothing_found") : "");
    keep(
      byId("signs"),
      view.lines,
      ({ observation }) => observation,
      () => make("li", {}, make("span", { class: "said" }), make("span", { class: "how" })),
      (item, line) => {
        item.classList.toggle("large", line.large);
        item.classList.toggle("old", line.old);
        say(part(item, ".said"), filled(line.what, now));
        say(part(item, ".how"), line.when ? filled(line.when, now) : "");
      },
    );
    keep(
      byId("hands"),
      view.hands,
      ({ who }) => who,
      () => make("li", {}, make("strong"), " ", make("span")),
      (item, line) => {
        say(part(item, "strong"), `${line.who}:`);
        const left = line.left_to_ms === null ? "" : leftText(line.left_to_ms - now);
        say(part(item, "span"), line.words.replace("{left}", left));
      },
    );
    for (const { action, since_ms: since } of view.running) {
      for (const button of document.querySelectorAll(`[data-act="${action}"] .small`)) {
        say(button, this.word("since", { span: spanText(now - since) }));
      }
    }
    for (const button of document.querySelectorAll('[data-act][aria-pressed="false"] .small')) {
      say(button, "");
    }
    if (view.counting) this.drawBands();
  }

  /** Read aloud what is new: signs that were found or have changed, and who has come. */
  announce() {
    const fresh = [];
    for (const line of this.view.lines) {
      const moving = line.what.curve !== null;
      const plain = moving ? line.observation : line.what.text;
      if (this.readOut.get(line.observation) !== plain) {
        this.readOut.set(line.observation, plain);
        fresh.push(filled(line.what, this.now()));
      }
    }
    for (const { who, left_to_ms: left } of this.view.hands) {
      const key = `hands ${who}`;
      const here = left === null ? "here" : "coming";
      const before = this.readOut.get(key);
      this.readOut.set(key, here);
      if (before === "coming" && here === "here") fresh.push(this.word("help_here", { who }));
    }
    if (fresh.length > 0 && !this.first) this.tell(fresh.join(". "));
    this.first = false;
  }
}

new Play();
