// The course of a trial, worked out from its rows: what stands, what burns, what comes next. No clock, no page.
// What a method asks for comes with the page: its kinds of observation, and its steps with their times.

import { lasts, moment } from "./times.js";

export const TAKEN_BACK = "taken_back";
export const STOPPED = "stopped";
export const TO_BE_SAID = "to be said";
const LAYER = "layer_catches";
const GLOW = "glow_starts";
const SOON_S = 5;

/** Rows that were neither corrected nor taken back, in order of time. */
export function standing(rows) {
  const replaced = new Set(rows.map((row) => row.replaces).filter(Boolean));
  return rows
    .filter((row) => !replaced.has(row.key) && row.kind !== TAKEN_BACK)
    .sort((a, b) => (a.t_s === null) - (b.t_s === null) || Number(a.t_s) - Number(b.t_s));
}

/** Everything the run page asks about: moments in s from the start; what is still open has no end. */
export function courseOf(rows, { kinds, steps, steady }) {
  const events = standing(rows).filter((row) => row.kind !== steady?.reading);
  const first = (kind) => events.find((row) => row.kind === kind);
  const at = (kind) => (first(kind) ? Number(first(kind).t_s) : null);
  const stopped = events.find((row) => row.note?.startsWith(STOPPED));
  const spans = kinds.filter((kind) => kind.ends).flatMap((end) => spansOf(events, end));
  /** When a step fell away, because of what was seen or with the step it follows; null when it did not. */
  const leftOut = (step) => {
    if (!step || step === steps[0] || at(step.kind) !== null) return null;
    const seen = step.left_out_after.map(at).filter((moment) => moment !== null);
    return seen.length ? Math.min(...seen) : leftOut(steps.find((one) => one.kind === step.after));
  };
  const acts = steps
    .filter((step) => step.ends && at(step.ends) !== null)
    .map((step) => ({ kind: step.ends, ender: step.kind, title: step.title, from: at(step.ends), to: at(step.kind) ?? leftOut(step) }));
  const contact = first("contact");
  const ended = stopped ?? first("watch_ends");
  return {
    events,
    contact,
    ended,
    stopped,
    spans,
    acts,
    at,
    phase: ended ? "ended" : contact ? "running" : "setup",
    pending: steps.slice(1).filter((step) => at(step.kind) === null && (leftOut(step) === null || step === steps.at(-1))),
    leftOut: (kind) => leftOut(steps.find((step) => step.kind === kind)),
    done: steps.filter((step) => at(step.kind) !== null),
    open: (kind) => spans.filter((span) => span.to === null && (!kind || span.kind === kind)),
    burning: spans.filter((span) => span.to === null && span.kind !== LAYER),
    count: (kind) => events.filter((row) => row.kind === kind).length,
    last: (kind) => events.findLast((row) => row.kind === kind),
  };
}

/** Starts of one kind with the first end after them; a flame of a kind is ended by the same kind. */
function spansOf(events, end) {
  const spans = [];
  const open = [];
  for (const row of events) {
    if (row.kind === end.ends) {
      const span = { kind: end.ends, ender: end.key, value: row.value, from: Number(row.t_s), to: null };
      open.push(span);
      spans.push(span);
    } else if (row.kind === end.key) {
      const place = open.findIndex((span) => (span.value || "") === (row.value || ""));
      if (place >= 0) open.splice(place, 1)[0].to = Number(row.t_s);
    }
  }
  return spans;
}

const plus = (from, seconds) => (from === null || seconds === null ? null : Number((from + Number(seconds)).toFixed(1)));

/** When a step is due, in s from the start; null when it is due as it is seen, or what it follows has not happened. */
export function dueOf(course, step) {
  const due = plus(course.at(step.after), step.due_s) ?? course.leftOut(step.after);
  const sooner = known(course, step) && step.at_once_after ? course.at(step.at_once_after) : null;
  return sooner === null ? due : Math.min(sooner, due ?? sooner);
}

/** The steps with the moment of the last of what comes by itself, where it is known how many are to come. */
export function stepsWithBeat(steps, beat, asked) {
  const before = Number(asked || Number.NaN) - 1;
  if (!beat?.last || !(before >= 0)) return steps;
  const last = { due_s: String(before * Number(beat.every_s)), from_s: before * Number(beat.least_s), beat: `${lower(beat.title)} ${asked}`, beats: Number(asked) };
  return steps.map((step) => (step.kind === beat.last ? { ...step, ...last } : step));
}

/** The stretch in which what burns must go out: {applied, latest}; null where the method knows none, or not yet. */
export function limitsOf(course, steps) {
  const step = steps.findLast((one) => one.out_within_s !== null && (course.at(one.kind) ?? dueOf(course, one)) !== null);
  if (!step) return { applied: null, latest: null };
  const applied = course.at(step.kind) ?? dueOf(course, step);
  return { applied, latest: plus(applied, step.out_within_s) };
}

/** The one key Enter presses while the trial runs: {kind, value, small, title, off}; `nowS` is seconds from the start. */
export function nextEvent(course, page, nowS) {
  const named = (key) => page.kinds.find((kind) => kind.key === key);
  const [step] = course.pending;
  const last = page.steps.at(-1);
  const due = step ? dueOf(course, step) : null;
  const flame = course.burning.at(-1);
  const quiet = !flame || !step?.once_out;
  const offer = (one, more = {}) => ({ kind: named(one.kind), value: "", small: named(one.kind).prompt, ...more });
  const at = due === null ? "" : step.beat ? `${step.beat}, about ${moment(due, page.long)}` : `${step.within ? "by" : "at"} ${moment(due, page.long)}`;
  if (step && step !== last && quiet && known(course, step)) {
    const soon = due === null ? step.due_s === null : step.within || nowS >= Math.min(due, step.from_s ?? due) - SOON_S;
    const unseen = due === null && !step.once_out && page.names.burns && !flame && !acting(course);
    if (soon && !unseen) return offer(step, at ? { small: at } : {});
  }
  if (flame) return { kind: named(flame.ender), value: flame.value, small: named(flame.ender).prompt };
  if (mayEnd(course, last, nowS)) return offer(last, { title: last.once_out ? `Nothing more; ${lower(last.order)}` : last.order });
  const starter = page.kinds.find((kind) => page.kinds.some((end) => end.ends === kind.key));
  const until = dueOf(course, last);
  const watch = step === last && until !== null ? `else watch until ${moment(until, page.long)}` : "";
  if (starter && page.names.burns) return { kind: starter, value: "", small: watch || "nothing burns yet" };
  return offer(step ?? last, { off: true, small: watch || at || "not yet" });
}

const known = (course, step) => (course.at(step.after) ?? course.leftOut(step.after)) !== null;
const acting = (course) => course.acts.some((act) => act.to === null);

function mayEnd(course, last, nowS) {
  const due = dueOf(course, last);
  const between = course.pending.some((step) => step !== last && step.due_s !== null && known(course, step));
  return !between && known(course, last) && (last.due_s === null || last.within || (due !== null && nowS >= due));
}

/** The sentence above the clock. */
export function sentenceOf(course, page, nowS) {
  const layer = course.open(LAYER).length ? ` The ${page.names.layer} is burning.` : "";
  if (course.stopped) return "Stopped. Everything recorded is kept.";
  if (course.phase === "ended") return "The trial has ended.";
  const [step] = course.pending;
  const last = page.steps.at(-1);
  return `${step && step !== last ? sentenceOfStep(course, page, step, nowS) : sentenceOfWatch(course, page, last, nowS)}${layer}`;
}

function sentenceOfStep(course, page, step, nowS) {
  const due = dueOf(course, step);
  const flame = course.burning.at(-1);
  if (flame && step.once_out) return `${burns(flame)}. ${step.order} as soon as it is out.`;
  const state = flame ? "Something burns or glows." : page.names.burns && acting(course) ? "Nothing burns yet." : "";
  if (due === null) return [state, step.once_out ? `${step.order} now: nothing burns.` : `Next: ${lower(step.order)}.`].filter(Boolean).join(" ");
  if (course.at(step.at_once_after) === due) return `${step.order} now: ${lower(page.kinds.find((kind) => kind.key === step.at_once_after).title)}.`;
  if (step.beat) return nowS < due ? `The last, ${step.beat}, falls in about ${lasts(Math.ceil(due - nowS), page.long)}.` : `The last, ${step.beat}, falls about now.`;
  if (nowS >= due + 1) return `${step.order} now; ${lasts(Number(step.due_s), page.long)} are over.`;
  if (nowS >= due) return `${step.order} now.`;
  const left = `${step.order} ${step.within ? "within" : "in"} ${lasts(Math.ceil(due - nowS), page.long)}.`;
  return nowS >= due - SOON_S || !state ? left : `${state} ${left}`;
}

function sentenceOfWatch(course, page, last, nowS) {
  const { latest } = limitsOf(course, page.steps);
  const flame = course.burning.at(-1);
  const until = dueOf(course, last);
  const quiet = page.names.burns ? "Nothing burns." : "";
  if (flame && latest !== null && nowS > latest) {
    return `${wordOf(flame)} past the latest, ${moment(latest, page.long)}. Record when it is out; put it out when it is no longer safe.`;
  }
  if (flame) return `${burns(flame)}. Watch until it is out${latest === null ? "" : `, ${moment(latest, page.long)} at the latest`}.`;
  if (until !== null && last.within) return nowS < until ? `${last.order} within ${lasts(Math.ceil(until - nowS), page.long)}.` : `${last.order} now.`;
  if (until !== null && nowS < until) return `${quiet} Watch until ${moment(until, page.long)}, ${lasts(Math.ceil(until - nowS), page.long)} more.`.trim();
  if (until === null && last.due_s !== null) return quiet || "The trial is running.";
  return page.names.burns ? "Nothing burns and the watch is complete." : `${last.order} now.`;
}

const wordOf = (span) => (span.kind === GLOW ? "Glow" : "Flame");
const burns = (span) => (span.kind === GLOW ? "It glows" : "Flame burning");

/** What a span is called in the drawing and the log. */
export function spanWord(span, names, title) {
  if (span.kind === LAYER) return names.layer;
  if (span.kind === GLOW) return "glow";
  return span.kind === "ignites" ? span.value || "flame" : lower(title ?? span.kind);
}

/** A title as it stands inside a sentence. */
export const lower = (title) => (/^.\p{Ll}|^A /u.test(title) ? `${title[0].toLowerCase()}${title.slice(1)}` : title);

/** Which of what comes by itself is due now, of how many, and in how many s the next: {number, of, at, left}; or null. */
export function beatOf(course, { beat, steps }, nowS) {
  const over = course.acts.length > 0 && !acting(course);
  if (!beat || over || course.phase !== "running") return null;
  const every = Number(beat.every_s);
  const all = steps.find((step) => step.beats)?.beats;
  const number = Math.min(Math.floor(nowS / every), all === undefined ? Infinity : all - 1);
  const left = all === number + 1 ? null : Math.max(0, Math.ceil((number + 1) * every - nowS));
  return { number: number + 1, of: all === undefined ? "" : ` of ${all}`, at: number * every, left };
}
