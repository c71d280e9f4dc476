// The course of a trial, worked out from its rows: what stands, what burns, what comes next. No clock, no page.

export const TAKEN_BACK = "taken_back";
export const STOPPED = "stopped";
export const TO_BE_SAID = "to be said";

/** Rows that were neither corrected nor taken back, in order of time. */
export function standing(rows) {
  const replaced = new Set(rows.map((row) => row.replaces).filter(Boolean));
  return rows
    .filter((row) => !replaced.has(row.key) && row.kind !== TAKEN_BACK)
    .sort((a, b) => (a.t_s === null) - (b.t_s === null) || Number(a.t_s) - Number(b.t_s));
}

/** Everything the run page asks about: moments in s from contact, spans still open have no end. */
export function courseOf(rows, kinds, reading) {
  const events = standing(rows).filter((row) => row.kind !== reading);
  const first = (kind) => events.find((row) => row.kind === kind);
  const stopped = events.find((row) => row.note?.startsWith(STOPPED));
  const spans = [];
  for (const end of kinds.filter((kind) => kind.ends)) {
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
  }
  const contact = first("contact");
  const ended = stopped ?? first("watch_ends");
  return {
    events,
    contact,
    withdrawn: first("withdrawn"),
    ended,
    stopped,
    spans,
    phase: ended ? "ended" : contact ? "running" : "setup",
    open: (kind) => spans.filter((span) => span.to === null && (!kind || span.kind === kind)),
    count: (kind) => events.filter((row) => row.kind === kind).length,
    last: (kind) => events.findLast((row) => row.kind === kind),
  };
}

/** Moments the edition counts to, in s from contact; null where it has no such figure or it is not known yet. */
export function limitsOf(course, timing) {
  const number = (text) => (text === null ? null : Number(text));
  const apply = number(timing.application_s);
  const applied = course.withdrawn ? Number(course.withdrawn.t_s) : apply;
  const after = (text) => (applied === null || text === null ? null : Number((applied + Number(text)).toFixed(1)));
  return { apply, applied, latest: after(timing.burn_s), watch: after(timing.watch_s) };
}

const SOON_S = 5;

/** The one key Enter presses while the trial runs: {kind, small, ready}; `nowS` is seconds from contact. */
export function nextEvent(course, kinds, timing, nowS) {
  const named = (key) => kinds.find((kind) => kind.key === key);
  const { apply, watch } = limitsOf(course, timing);
  const burning = course.open().filter((span) => span.kind !== "layer_catches");
  const ends = burning.length ? burning.at(-1) : null;
  if (named("withdrawn") && !course.withdrawn && (apply === null || nowS >= apply - SOON_S)) {
    return { kind: named("withdrawn"), value: "", small: apply === null ? "" : `at ${apply} s` };
  }
  if (ends) return { kind: named(ends.ender), value: ends.value, small: named(ends.ender).prompt };
  if (course.withdrawn && named("watch_ends") && (watch === null || nowS >= watch)) {
    return { kind: named("watch_ends"), value: "", title: "Nothing more; end watching", small: named("watch_ends").prompt };
  }
  const starter = kinds.find((kind) => kinds.some((end) => end.ends === kind.key));
  return { kind: starter, value: "", small: course.withdrawn ? `else watch until ${watch} s` : "nothing burns yet" };
}

/** The sentence above the clock. */
export function sentenceOf(course, timing, nowS) {
  const { apply, latest, watch } = limitsOf(course, timing);
  const burning = course.open().filter((span) => span.kind !== "layer_catches");
  const layer = course.open("layer_catches").length ? " The layer is burning." : "";
  const left = (until) => Math.max(0, until - nowS).toFixed(0);
  if (course.stopped) return "Stopped. Everything recorded is kept.";
  if (course.phase === "ended") return "The trial has ended.";
  if (!course.withdrawn) {
    const what = burning.length ? "Something burns or glows." : "In contact.";
    if (apply === null) return what + layer;
    if (nowS >= apply + 1) return `Withdraw now; ${apply} s are over.${layer}`;
    if (nowS >= apply) return `Withdraw now.${layer}`;
    if (nowS >= apply - SOON_S) return `Withdraw in ${Math.ceil(apply - nowS)} s.${layer}`;
    return `${what} ${left(apply)} s until the wire is withdrawn.${layer}`;
  }
  if (burning.length && latest !== null) {
    const past = nowS > latest;
    const word = burning.at(-1).kind === "glow_starts" ? "Glow" : "Flame";
    return past
      ? `${word} past the latest, ${latest.toFixed(1)} s. Record when it is out; put it out when it is no longer safe.${layer}`
      : `${word} burning. Watch until it is out, ${latest.toFixed(1)} s at the latest.${layer}`;
  }
  if (watch !== null && nowS < watch) return `Nothing burns. Watch until ${watch.toFixed(1)} s, ${left(watch)} s more.${layer}`;
  return `Nothing burns and the watch is complete.${layer}`;
}
