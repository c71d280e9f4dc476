// What the bench page shows besides its keys and drawings: the clock, the log, the line at the top.

import { STOPPED, lower, spanWord } from "./course.js";
import { shape, words } from "./keys.js";
import { clockParts, logTime, moment } from "./times.js";

const CLOCK_OFF_MS = 2000;

/** The big clock: time from the start; beside it how long ago the last step was, or what comes by itself now. */
export function showClock(course, page, seconds, beat) {
  const clock = document.getElementById("clock");
  if (!clock.querySelector("[data-part]")) {
    const big = document.createElement("b");
    big.setAttribute("aria-live", "off");
    big.append(document.createElement("span"), Object.assign(document.createElement("small"), { className: "keep" }));
    const side = document.createElement("span");
    side.append(`since ${lower(page.steps[0].title)}`, document.createElement("small"));
    big.dataset.part = "big";
    if (page.long) big.className = "long";
    clock.replaceChildren(big, side);
  }
  const [big, side] = clock.children;
  [big.firstChild.textContent, big.lastChild.textContent] = clockParts(seconds, page.long);
  const step = course.done.slice(1).findLast((one) => one.kind !== "watch_ends");
  const since = step ? `${step.title} ${moment(seconds - course.at(step.kind), page.long)} ago` : "";
  const beats = beat ? `${lower(page.beat.title)} ${beat.number}${beat.of} at ${moment(beat.at, page.long)}${beat.left !== null ? `, next in ${beat.left} s` : ""}` : "";
  side.lastChild.textContent = course.contact ? [beats, since].filter(Boolean).join("; ") : `${page.steps[0].title}: never`;
}

/** Events so far, newest first, with what is not yet saved. `waits` holds keys. */
export function showLog(course, page, nowS, waits) {
  const ended = course.phase === "ended";
  const kindOf = (key) => page.kinds.find((kind) => kind.key === key);
  const rows = [...course.events].reverse().map((row) => {
    const kind = kindOf(row.kind);
    const stopped = row.note.startsWith(STOPPED);
    const what = stopped ? `Stopped: ${row.value}` : row.kind === "note" ? row.value : `${kind?.title ?? row.kind} ${row.value} ${row.value ? (kind?.unit ?? "") : ""}`.trim();
    const remark = row.steady_s === null ? "entered later" : stopped ? "" : row.note;
    return [row.t_s === null ? "" : logTime(Number(row.t_s), page.long), what, waits.has(row.key), remark];
  });
  const seen = JSON.stringify(rows);
  const log = document.getElementById("log");
  if (log.dataset.seen !== seen) {
    log.dataset.seen = seen;
    log.replaceChildren(...rows.map(([t, what, waiting, remark]) => logItem(t, what, waiting, remark)));
    if (!ended) log.prepend(logItem("", "", false, ""));
  }
  if (ended) return;
  const [when, what] = log.firstElementChild.children;
  const open = course.open().map((span) => spanWord(span, page.names, kindOf(span.kind)?.title));
  when.firstChild.textContent = logTime(nowS, page.long);
  what.textContent = open.length ? `now, ${open.join(" and ")} ${page.names.burns ? "burning" : "going on"}` : "now";
}

function logItem(t, what, waiting, remark) {
  const item = document.createElement("li");
  const when = document.createElement("b");
  when.append(Object.assign(document.createElement("span"), { className: "keep", textContent: t }));
  const mark = document.createElement("em");
  if (waiting) {
    mark.className = "hand";
    mark.append(shape("hand"), " not yet saved");
  } else mark.textContent = remark ? `saved, ${remark}` : t === "" ? "" : "saved";
  item.append(when, words(what), mark);
  return item;
}

/** The line at the top: what is not yet saved, and what is wrong with the device's clock of the day. */
export function showRail(waits, clockOffMs, remark) {
  const place = document.getElementById("saving");
  const off = Math.abs(clockOffMs) > CLOCK_OFF_MS ? `This tablet’s clock is ${Math.abs(Math.round(clockOffMs / 1000))} s ${clockOffMs > 0 ? "ahead" : "behind"}; times are counted on its steady clock and stay right.` : "";
  const step = remark ? `The tablet’s clock was changed (${remark.replace("clock_step ", "")}); times are counted on its steady clock and stay right.` : "";
  const seen = [waits, off, step].join("|");
  if (place.dataset.seen === seen) return;
  place.dataset.seen = seen;
  const hand = document.createElement("span");
  hand.className = "hand wrap";
  if (waits) hand.append(shape("hand"), waits);
  place.replaceChildren(...(waits ? [hand] : []), ...[off, step].filter(Boolean).map((text) => Object.assign(document.createElement("span"), { className: "soft", textContent: ` ${text}` })));
}
