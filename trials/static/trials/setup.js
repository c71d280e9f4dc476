// The set-up part of the bench page: what is missing, the temperature's steady minute, and the way to the start.

import { tenths } from "./clock.js";
import { lower } from "./course.js";
import { words } from "./keys.js";
import { drawSteady } from "./steady.js";
import { drawTicks } from "./ticks.js";

const JUMP_K = 20; // between two readings; further, or further than the tolerance, is asked about once

const FIELD_DIGIT = /^[1-6]$/; // 7 shows all values, 8 reads the temperature, 9 stops, 0 takes back
const FREE_DIGIT = /^[1-68]$/;

/** A field outside its limit where it is said around it that the trial will be invalid. */
export const broken = (field) => `${field.title}: ${field.sentence.replace("; a trial with it is invalid", "")}`;

const token = () => decodeURIComponent(document.cookie.match(/(?:^|; )csrftoken=([^;]*)/)?.[1] ?? "");

export class Setup {
  constructor(bench) {
    this.bench = bench;
    this.page = bench.page;
    this.state = bench.page.state;
    this.askedMs = null;
    this.asking = false;
    this.said = "";
  }

  /** The server's answer on how the set-up stands, and the moment it speaks of. */
  learn(state, askedMs) {
    if (!state) return;
    this.state = state;
    this.bench.readSteps(state);
    this.askedMs = askedMs;
    this.asking = false;
  }

  field(key) {
    return { ...this.page.fields.find((one) => one.key === key), ...this.state.fields[key] };
  }

  get fields() {
    return this.page.fields.map((one) => this.field(one.key));
  }

  get readings() {
    if (!this.page.steady) return [];
    const rows = this.bench.standing.filter((row) => row.kind === this.page.steady.reading && row.steady_s !== null);
    return rows.map((row) => [Number(row.steady_s), Number(row.value), row]).sort((a, b) => a[0] - b[0]);
  }

  /** What is read until it is steady, as it stands inside a sentence: "tip". */
  get probe() {
    return lower(this.page.steady?.title ?? "temperature");
  }

  /** The start as it stands inside a sentence: "contact". */
  get start() {
    return lower(this.page.steps[0].title);
  }

  /** How long the temperature has been steady at this moment: the server's stretch, running on while readings are fresh. */
  steadyNow() {
    const { steady: rule } = this.page;
    const last = this.readings.at(-1);
    const known = this.state.steady;
    if (!rule || !last || !known) return { seconds: 0, fresh: Boolean(!rule), age: null };
    const now = this.bench.nowS;
    const age = now - last[0];
    const fresh = age <= Number(rule.gap_s);
    const waits = this.bench.outbox.rows.some((row) => row.kind === rule.reading);
    if (!fresh || waits || this.askedMs === null) return { seconds: 0, fresh, age, waits };
    return { seconds: Number(known.steady_s) + (this.bench.nowMs - this.askedMs) / 1000, fresh, age, waits };
  }

  get steadyEnough() {
    return !this.page.steady || this.steadyNow().seconds >= Number(this.page.steady.window_s);
  }

  async post(values) {
    const askedMs = this.bench.nowMs;
    const body = new URLSearchParams({ ...values, steady_s: tenths(askedMs - this.page.opened_ms) });
    try {
      const response = await fetch(this.page.urls.value, { method: "POST", redirect: "manual", headers: { "X-CSRFToken": token() }, body });
      if (response.type === "opaqueredirect" || response.status === 403) return "You are signed out. Sign in again; what you typed stays here.";
      const answer = await response.json();
      if (!response.ok) return answer.sentence;
      this.learn(answer.state, askedMs);
      this.bench.render();
      return "";
    } catch {
      return "The network is gone; this value is not saved. It stays here: press Enter again when it is back.";
    }
  }

  async ask() {
    if (this.asking || !this.readings.length) return;
    this.asking = true;
    const askedMs = this.bench.nowMs;
    try {
      const response = await fetch(`${this.page.urls.state}?steady_s=${tenths(askedMs - this.page.opened_ms)}`, { redirect: "manual" });
      if (response.ok) this.learn((await response.json()).state, askedMs);
    } catch {
      // without a network the running seconds stand as they are
    }
    setTimeout(() => (this.asking = false), 5000);
  }

  async save(key, value) {
    const sentence = await this.post({ key, value });
    this.said = sentence || this.field(key).sentence;
    this.bench.render();
    return sentence;
  }

  enter(field) {
    this.said = "";
    if (field.kind === "yes-no" && field.missing) return this.save(field.key, field.wanted || "yes");
    if (field.kind === "number" || field.kind === "text") {
      const offer = field.offered && !field.value ? `${field.offered} ${field.unit} ${field.why}`.replace("  ", " ") : "";
      const hint = [field.limit, field.prompt, offer].filter(Boolean).join(". ");
      const save = (text) => this.save(field.key, text);
      return this.bench.panel.ask({ title: field.title, unit: field.unit, hint, numeric: field.kind === "number", value: field.value || field.offered, save });
    }
    const choices = (field.kind === "yes-no" ? ["yes", "no"] : field.choices).map((value) => ({ title: value, value, small: value === field.offered ? field.why : "" }));
    return this.bench.panel.choose({ title: field.title, hint: field.prompt, choices, pick: (value) => this.save(field.key, value) });
  }

  get readingTitle() {
    return `${this.page.steady.title} reads`;
  }

  /** The key of the readings: while their box is open a digit is typed in it, so none is shown on the key. */
  readingKey(small) {
    const open = this.bench.panel.asked === this.readingTitle;
    const shown = open ? { digit: "", also: "8", small: "the box is open: type the figure, then Enter" } : { digit: "8", small };
    return { id: "reading", title: `Read the ${this.probe}`, ...shown, press: () => this.bench.panel.goOn(this.readingTitle) || this.readTip() };
  }

  readTip() {
    this.said = "";
    const { steady } = this.page;
    let doubted = "";
    const save = (text) => {
      if (!/^\d{1,4}([.,]\d{1,3})?$/.test(text)) return `“${text}” is not a temperature. Write it like ${steady.set_c} or ${steady.set_c}.4.`;
      const value = text.replace(",", ".");
      const jump = doubted === value ? "" : this.jump(Number(value));
      doubted = jump ? value : "";
      if (jump) return `${jump} Really? Press Enter once more to keep it, or type it again.`;
      this.bench.record({ kind: steady.reading, value, t_s: null });
      return "";
    };
    const shows = steady.reads_c === steady.set_c ? "" : `, which the display shows as ${steady.reads_c} °C`;
    const hint = `Set ${steady.set_c} ± ${steady.tolerance_k} °C${shows}. Each reading is timed as you press Enter.`;
    this.bench.panel.ask({ title: this.readingTitle, unit: "°C", hint, numeric: true, again: true, stay: () => !this.steadyEnough, save });
  }

  /** What is odd about a reading: far from the last one, and not on its way to the set value. */
  jump(value) {
    const last = this.readings.at(-1);
    if (!last) return "";
    const set = Number(this.page.steady.set_c);
    const far = Math.abs(value - last[1]);
    if (far <= Math.max(JUMP_K, Number(this.page.steady.tolerance_k)) || Math.abs(value - set) < Math.abs(last[1] - set)) return "";
    return `${value} °C is ${Number(far.toFixed(1))} K away from the last reading, ${last[2].value} °C.`;
  }

  /** What Enter does now, and the sentence that says it. */
  next() {
    const missing = this.fields.filter((field) => field.missing);
    const rig = missing.filter((field) => field.rig);
    if (rig.length && rig.every((field) => field.offered)) {
      const list = rig.map((field) => `${lower(field.title)} ${field.offered} ${field.unit}`.trim()).join(", ");
      return { id: "rig", title: `Rig as in its last trial`, small: `look, then take over: ${list}`, press: () => this.takeOver() };
    }
    const ordered = [...rig, ...missing.filter((field) => !field.rig)];
    if (ordered.length) {
      const [field] = ordered;
      const small = [field.limit, field.prompt].filter((part) => part && part !== "yes").join(". ");
      return { id: `field-${field.key}`, digit: field.digit, title: field.title, small: small || "type it, then Enter", press: () => this.enter(this.field(field.key)) };
    }
    const offline = this.bench.outbox.state === "offline";
    if (!this.steadyEnough && !offline) {
      return this.readingKey("type what the indicator shows, then Enter");
    }
    const wrong = this.wrong();
    const later = offline && this.page.steady ? "no network: steadiness is judged later" : "press at the very moment";
    const unknown = wrong.length ? [] : this.unknown();
    const small = wrong.length ? `the trial will be invalid: ${wrong[0]}` : unknown.length ? `it cannot be judged: ${unknown[0]}` : later;
    const { title } = this.page.steps[0];
    return { id: "contact", digit: "Enter", title: wrong.length ? `${title}, although invalid` : title, small, press: () => this.bench.contact() };
  }

  /** What makes the trial invalid as things stand, in words. */
  wrong() {
    const fields = this.fields.filter((field) => field.holds === false && field.sentence.includes("invalid")).map(broken);
    const others = this.state.others.filter((one) => one.enforced && one.holds === false).map((one) => one.reason);
    const tip = this.state.tip?.holds === false ? [this.state.tip.reason] : [];
    return [...fields, ...others, ...tip];
  }

  /** What leaves the trial without a verdict as things stand, in words. */
  unknown() {
    return this.state.others.filter((one) => one.enforced && one.holds === null).map((one) => one.reason);
  }

  keys() {
    const next = { ...this.next(), next: true };
    const own = this.page.fields
      .filter((one) => (this.page.steady ? FIELD_DIGIT : FREE_DIGIT).test(one.digit) && `field-${one.key}` !== next.id)
      .sort((a, b) => a.digit.localeCompare(b.digit))
      .filter((one) => !one.rig || !this.field(one.key).value) // given ones that stay with the rig are under 7
      .map((one) => {
        const field = this.field(one.key);
        const small = field.value ? `${field.value} ${field.unit}`.trim() : field.limit === "yes" ? "not confirmed" : field.limit;
        return { id: `field-${one.key}`, digit: one.digit, title: field.value && field.kind === "number" ? `${field.title} again` : field.title, small, press: () => this.enter(this.field(one.key)) };
      });
    const rest = [];
    if (this.page.steady && next.id !== "reading") rest.push(this.readingKey(this.ageWords()));
    const open = this.fields.filter((field) => !field.value).length;
    rest.push({ id: "values", digit: "7", title: "All values", small: open ? `${open} not given` : "all given", press: () => this.showValues() });
    rest.push({ id: "stop", digit: "9", title: "Stop, say why", small: "keeps everything", press: () => this.bench.stop() });
    const last = this.readings.at(-1);
    if (last) rest.push({ id: "back", digit: "0", title: "Take back last", small: `reading ${last[1]} °C`, press: () => this.bench.takeBack(last[2]) });
    return [next, ...own, ...rest];
  }

  ageWords() {
    const { age } = this.steadyNow();
    return age === null ? "none yet" : `last ${age.toFixed(0)} s ago`;
  }

  takeOver() {
    this.post({ take_over: "1" }).then((sentence) => {
      this.said = sentence;
      this.bench.render();
    });
  }

  showValues() {
    const values = document.getElementById("values");
    if (!values.open) this.refresh(values.querySelector("form"));
    values.open = true;
    const empty = [...values.querySelectorAll("input[type=text], select")].find((input) => !input.value) ?? values.querySelector("input[type=text]");
    empty?.focus();
  }

  /** What was entered by its key since the page was loaded is shown in the form too, where nobody typed. */
  refresh(form) {
    for (const { key, value } of this.fields) {
      const [input, seen] = [form.elements[key], form.elements[`seen_${key}`]];
      if (input.value === seen.value) input.value = seen.value = value;
    }
  }

  sentence() {
    if (this.said) return this.said;
    const missing = this.fields.filter((field) => field.missing);
    const wrong = this.wrong();
    if (missing.length) return missing.length === 1 ? `${missing[0].title} is still missing.` : `${missing.length} things are still missing before ${this.start}.`;
    const unknown = this.unknown();
    if (!wrong.length && unknown.length && this.steadyEnough) return `As it stands the trial cannot be judged: ${unknown[0]}.`;
    if (!this.page.steady) return wrong.length ? `As it stands the trial will be invalid. ${wrong[0]}` : `Everything is set. Press Enter at ${this.start}.`;
    const { fresh, age, waits, seconds } = this.steadyNow();
    if (age === null) return `Read the ${this.probe}: no reading yet.`;
    if (waits) return `The last readings are not yet saved; whether the ${this.probe} is steady cannot be said.`;
    if (!fresh) return `The last reading is ${age.toFixed(0)} s old, ${this.page.steady.gap_s} s are allowed. Read the ${this.probe}.`;
    const left = Math.ceil(Number(this.page.steady.window_s) - seconds);
    if (wrong.length) return `As it stands the trial will be invalid: ${wrong[0]}`;
    return left > 0 ? `${left} s more steady, then you can start.` : `Steady. Press Enter at ${this.start}.`;
  }

  draw() {
    drawTicks(document.getElementById("ticks"), this);
    document.getElementById("heading").textContent !== this.sentence() && document.getElementById("heading").replaceChildren(words(this.sentence()));
    if (this.page.steady) drawSteady(this);
  }
}
