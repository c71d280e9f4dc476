// The bench page of one trial: set-up, contact, the timed trial. One page, so that contact needs no network.

import { StepWatch, steadyMs, tenths } from "./clock.js";
import { STOPPED, TAKEN_BACK, TO_BE_SAID, beatOf, courseOf, limitsOf, lower, nextEvent, sentenceOf, standing, stepsWithBeat } from "./course.js";
import { drawCourse, drawTip } from "./draw.js";
import { Keys, Panel, words } from "./keys.js";
import { Outbox, newKey } from "./outbox.js";
import { showClock, showLog, showRail } from "./screen.js";
import { Setup } from "./setup.js";
import { isLong, moment } from "./times.js";

const TICK_MS = 100;
const TRACE_S = 180; // how much of the temperature stands below the keys
const OWN_DIGIT = /^[1-68]$/; // 7 is something else, 9 stops, 0 takes back
const isPressed = (kind) => kind.timed || kind.value_kind === "number"; // words and findings have the page after the trial
const TAKE_BACK_REASON = "taken back at the bench";

class Bench {
  constructor(page) {
    this.page = { ...page, stated: page.steps };
    this.readSteps(page.state);
    this.anchorName = `bench-anchor:${page.person}:${page.trial}`;
    this.outbox = new Outbox({
      person: page.person,
      trial: page.trial,
      url: page.urls.events,
      now: () => ((this.sentMs = this.nowMs), tenths(this.sentMs - page.opened_ms)),
      onAnswer: (answer) => this.setup.learn(answer.state, this.sentMs),
      onChange: () => this.render(),
    });
    const waiting = this.outbox.rows;
    const known = new Set(page.rows.map((row) => row.key));
    this.rows = [...page.rows, ...waiting.filter((row) => !known.has(row.key))];
    this.keys = new Keys(document.getElementById("keys"), { now: steadyMs });
    this.panel = new Panel(document.getElementById("panel"), { onLeft: () => this.keys.restEnter() });
    this.setup = new Setup(this);
    this.watch = new StepWatch(this.anchor);
    this.clockOff = Date.now() - page.server_ms;
  }

  /** The steps with their times, some of which the set-up tells. */
  readSteps(state) {
    const { beat } = this.page;
    const steps = stepsWithBeat(this.page.stated, beat, beat?.asked ? state.fields[beat.asked]?.value : "");
    Object.assign(this.page, { steps, long: isLong(steps) });
  }

  get nowMs() {
    return steadyMs();
  }

  /** Seconds on the bench clock, which begins when the trial was opened. */
  get nowS() {
    return (this.nowMs - this.page.opened_ms) / 1000;
  }

  get standing() {
    return standing(this.rows);
  }

  get course() {
    return courseOf(this.rows, this.page);
  }

  /** The moment of the start on both clocks, kept on the tablet so that a reload changes nothing. */
  get anchor() {
    const kept = JSON.parse(localStorage.getItem(this.anchorName) ?? "null");
    const { contact } = this.course;
    if (!contact) return null;
    if (kept?.key === contact.key) return kept;
    const steady = this.page.opened_ms + Number(contact.steady_s) * 1000;
    return { key: contact.key, steady, wall: contact.device_at ? Date.parse(contact.device_at) : steady };
  }

  get contactMs() {
    return this.anchor?.steady ?? null;
  }

  /** Write a press down: to the tablet first, then shown, then sent. `atMs` is when it was seen. */
  record({ kind, value = "", note = "", t_s, atMs = this.nowMs, replaces = null, reason = "", key = newKey(), steady_s = tenths(atMs - this.page.opened_ms) }) {
    const contact = this.contactMs;
    const relative = t_s === undefined ? (contact === null ? null : tenths(atMs - contact)) : t_s;
    const row = {
      key,
      kind,
      value,
      steady_s,
      t_s: relative,
      device_at: new Date(atMs).toISOString(),
      note: [note, this.watch.remark].filter(Boolean).join("; "),
      replaces,
      reason,
    };
    this.rows.push(row);
    this.outbox.add(row);
    this.render();
    return row;
  }

  contact() {
    const atMs = this.nowMs;
    const key = newKey();
    localStorage.setItem(this.anchorName, JSON.stringify({ key, steady: atMs, wall: Date.now() }));
    this.panel.close();
    this.record({ kind: "contact", atMs, t_s: "0.0", key });
    history.replaceState(null, "", this.page.urls.run);
  }

  /** A row falls away by a row that names it; what named an earlier row gives way to that one as it was. */
  takeBack(row) {
    const before = row.replaces && this.rows.find((one) => one.key === row.replaces);
    const as = before ? { kind: before.kind, value: before.value, note: before.note, t_s: before.t_s, steady_s: before.steady_s } : { kind: TAKEN_BACK, t_s: null };
    this.record({ ...as, replaces: row.key, reason: TAKE_BACK_REASON });
  }

  stop() {
    const atMs = this.nowMs;
    const save = (text) => {
      this.record({ kind: "note", value: text, note: STOPPED, atMs });
      return "";
    };
    this.panel.ask({ title: "Why the trial is stopped", hint: "Everything recorded is kept.", save });
  }

  event(kind, value, atMs = this.nowMs) {
    if (kind.value_kind === "number" || (kind.value_kind === "text" && !value)) {
      const when = kind.timed ? { atMs } : { t_s: null };
      const save = (text) => {
        if (kind.value_kind === "number" && !/^\d{1,4}([.,]\d{1,3})?$/.test(text)) return `“${text}” is not a number. Write it like 35.`;
        this.record({ kind: kind.key, value: text.replace(/^(\d+),(\d+)$/, "$1.$2"), ...when });
        return "";
      };
      const seen = this.contactMs === null || !kind.timed ? kind.prompt : `seen at ${moment((atMs - this.contactMs) / 1000, this.page.long)}`;
      return this.panel.ask({ title: kind.title, unit: kind.unit, hint: seen, numeric: kind.value_kind === "number", again: kind.repeats && !kind.timed, save });
    }
    return this.record({ kind: kind.key, value, atMs });
  }

  /** Something without a key of its own: its moment is kept at once, what it was is said now or later. */
  somethingElse(options) {
    const atMs = this.nowMs;
    const row = this.record({ kind: "note", value: TO_BE_SAID, atMs });
    const say = (option) => this.record({ kind: option.kind, value: option.value, t_s: row.t_s, atMs, replaces: row.key, reason: "named at the bench" });
    const pick = (option) => {
      if (option.kind !== "note") return say(option);
      const save = (text) => {
        say({ kind: "note", value: text });
        return "";
      };
      return this.panel.ask({ title: "What was it", hint: `seen at ${moment(Number(row.t_s), this.page.long)}`, save });
    };
    this.panel.choose({ title: `At ${moment(Number(row.t_s), this.page.long)}: what was it?`, choices: options.map((option) => ({ ...option, value: option })), later: "Say it later", pick });
  }

  /** What key 7 offers: events without a key of their own, further kinds of flame, and steps not offered now. */
  otherEvents(course, next) {
    const options = [];
    const shown = new Set(this.ownKinds(course));
    const pending = new Set(course.pending.filter((step) => course.at(step.after) !== null).map((step) => step.kind));
    const steps = new Set(this.page.steps.map((step) => step.kind));
    for (const kind of this.page.kinds.filter((one) => one.when !== "after" && one.timed)) {
      if (steps.has(kind.key)) {
        if ((pending.has(kind.key) || kind.key === "watch_ends") && (kind !== next.kind || next.off)) options.push({ title: kind.title, small: "before its time", kind: kind.key, value: "" });
      } else if (!shown.has(kind) && kind !== next.kind) options.push({ title: kind.title, kind: kind.key, value: "" });
      if (kind.value_kind === "choice" && kind.optional && !kind.ends) {
        for (const value of kind.choices.slice(1)) options.push({ title: `${kind.title}: ${value}`, kind: kind.key, value });
      }
    }
    for (const span of course.open().filter((one) => one.value)) {
      options.push({ title: `${this.kind(span.ender).title}: ${span.value}`, kind: span.ender, value: span.value });
    }
    options.push({ title: "Something to write", kind: "note", value: "" });
    return options;
  }

  kind(key) {
    return this.page.kinds.find((one) => one.key === key);
  }

  /** The kinds that have a key of their own now; a hand that puts something out is offered while something burns by itself. */
  ownKinds(course) {
    const alone = course.burning.length > 0 && course.acts.every((act) => act.to !== null);
    const own = (kind) => OWN_DIGIT.test(kind.digit) && (kind.key !== "put_out" || alone);
    return this.page.kinds.filter((kind) => kind.when !== "after" && isPressed(kind) && own(kind));
  }

  runKeys(course) {
    const next = nextEvent(course, this.page, this.seconds);
    const keys = [{ id: `event-${next.kind.key}-${next.value}`, digit: next.kind.digit, title: next.title ?? this.title(next.kind, next.value), small: next.small, off: next.off, next: true, press: () => this.event(next.kind, next.value) }];
    const running = this.ownKinds(course);
    for (const digit of [...new Set(running.map((kind) => kind.digit))].sort()) {
      const [kind, value] = this.turn(course, running.filter((one) => one.digit === digit));
      if (kind === next.kind) continue;
      const once = !kind.repeats && course.last(kind.key); // stands: its key stays where it is, so that no other moves
      const small = once ? `at ${moment(Number(once.t_s), this.page.long)}, once only` : this.soFar(course, kind);
      keys.push({ id: `event-${kind.key}-${value}`, digit, title: this.title(kind, value), small, off: Boolean(once), press: () => this.event(kind, value) });
    }
    keys.push({ id: "other", digit: "7", title: "Something else", small: "its moment is kept at once", press: () => this.somethingElse(this.otherEvents(course, next)) });
    return [...keys, ...this.lastKeys(course)];
  }

  lastKeys(course) {
    const keys = [];
    if (course.phase === "running") keys.push({ id: "stop", digit: "9", title: "Stop, say why", small: "keeps everything", press: () => this.stop() });
    const last = this.rows.findLast((row) => course.events.includes(row));
    if (last) {
      const name = this.kind(last.kind)?.title ?? last.kind;
      keys.push({ id: "back", digit: "0", title: "Take back last", small: `${last.note.startsWith(STOPPED) ? "Stopped" : name}${last.t_s === null ? "" : `, ${moment(Number(last.t_s), this.page.long)}`}`, press: () => this.takeBack(last) });
    }
    return keys;
  }

  /** Which of the kinds on one digit is meant now: the end of what is open, else the beginning. */
  turn(course, kinds) {
    for (const kind of kinds.filter((one) => one.ends)) {
      const open = course.open(kind.ends).at(-1);
      if (open) return [kind, open.value];
    }
    return [kinds.find((one) => !one.ends) ?? kinds[0], ""];
  }

  title(kind, value) {
    return value ? `${kind.title}: ${value}` : kind.title;
  }

  soFar(course, kind) {
    if (kind.ends) return "goes on";
    const count = course.count(kind.key);
    if (kind.value_kind === "number") return count ? `${course.last(kind.key).value} ${kind.unit}` : kind.prompt || "not measured";
    return count ? `${count} so far` : "not so far";
  }

  get seconds() {
    return this.contactMs === null ? 0 : (this.nowMs - this.contactMs) / 1000;
  }

  render() {
    const { phase } = this.course;
    for (const part of document.querySelectorAll("[data-phase]")) part.hidden = (part.dataset.phase === "setup") !== (phase === "setup");
    const halves = document.getElementById("halves").classList;
    halves.toggle("bare", phase === "setup" && !this.page.steady);
    halves.toggle("running", phase !== "setup");
    // While the trial runs nothing may move the keys under a finger: what is asked then stands below them.
    if (phase !== "setup" && this.panel.root.previousElementSibling !== this.keys.root) this.keys.root.after(this.panel.root);
    if (phase === "setup") {
      this.setup.draw();
      this.keys.show(this.page.mine ? this.setup.keys() : []);
    } else this.renderRun(this.course);
    showRail(this.outbox.words, this.clockOff, this.watch.remark);
  }

  renderRun(course) {
    const limits = limitsOf(course, this.page.steps);
    const ended = course.phase === "ended";
    const nowS = this.seconds;
    const sentence = sentenceOf(course, this.page, nowS);
    const heading = document.getElementById("heading");
    if (heading.textContent !== sentence) heading.replaceChildren(words(sentence));
    showClock(course, this.page, ended ? Number(course.ended.t_s ?? 0) : nowS, beatOf(course, this.page, nowS));
    showLog(course, this.page, nowS, new Set(this.outbox.rows.map((row) => row.key)));
    drawCourse(document.getElementById("course-plot"), course, this.page, limits, ended ? null : nowS);
    const trace = document.getElementById("trace-plot");
    const shown = this.setup.readings.some(([t]) => t > this.nowS - TRACE_S || ended);
    trace.closest("figure").hidden = !shown;
    if (shown) {
      const startS = course.contact ? (this.contactMs - this.page.opened_ms) / 1000 : null;
      const until = ended ? (startS ?? this.setup.readings.at(-1)[0]) + Number(course.ended.t_s ?? 0) : this.nowS;
      drawTip(trace, this.setup.readings, this.page.steady, until, { span: TRACE_S, height: 150, startS, startWord: lower(this.kind("contact").title), end: ended ? "end" : "now" });
    }
    if (!this.page.mine) return this.keys.show([]);
    return this.keys.show(ended ? this.endKeys(course) : this.runKeys(course));
  }

  endKeys(course) {
    const waits = this.outbox.rows.length;
    const next = waits
      ? { id: "wait", title: `Waiting to save ${waits}`, small: this.outbox.sentence || "kept on this tablet, tried every few seconds", next: true, press: () => this.outbox.drain() }
      : { id: "sign", title: "Look at the verdict and sign", small: "what is left to say comes first", next: true, href: this.page.urls.sign };
    const later = this.page.kinds.filter((kind) => kind.when === "both" && isPressed(kind) && OWN_DIGIT.test(kind.digit));
    const keys = later.map((kind) => ({ id: `event-${kind.key}-`, digit: kind.digit, title: kind.title, small: this.soFar(course, kind), press: () => this.event(kind, "") }));
    return [next, ...keys, ...this.lastKeys(course)];
  }

  start() {
    document.getElementById("dimmer").addEventListener("click", () => {
      document.documentElement.classList.toggle("dim");
      localStorage.setItem("bench-dim", document.documentElement.classList.contains("dim") ? "1" : "");
    });
    document.documentElement.classList.toggle("dim", localStorage.getItem("bench-dim") === "1");
    this.render();
    this.outbox.keepTrying();
    if (this.course.phase === "setup") this.setup.ask();
    setInterval(() => this.render(), TICK_MS);
    document.addEventListener("visibilitychange", () => this.render());
  }
}

new Bench(JSON.parse(document.getElementById("page").textContent)).start();
