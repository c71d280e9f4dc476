// What the bench page shows besides its keys and drawings: the clock, the log, the line at the top.

import { tenths } from "./clock.js";
import { STOPPED } from "./course.js";
import { shape, words } from "./keys.js";

const CLOCK_OFF_MS = 2000;

/** The big clock: seconds from contact, and since withdrawal. */
export function showClock(course, seconds) {
  const clock = document.getElementById("clock");
  if (!clock.querySelector("[data-part]")) {
    const big = document.createElement("b");
    big.setAttribute("aria-live", "off");
    big.append(document.createElement("span"), Object.assign(document.createElement("small"), { className: "keep" }));
    const side = document.createElement("span");
    side.append("since contact", document.createElement("small"));
    big.dataset.part = "big";
    clock.replaceChildren(big, side);
  }
  const [big, side] = clock.children;
  const [whole, part] = tenths(seconds * 1000).split(".");
  big.firstChild.textContent = whole;
  big.lastChild.textContent = `.${part} s`;
  const since = course.withdrawn ? `${tenths((seconds - Number(course.withdrawn.t_s)) * 1000)} s since withdrawal` : "";
  side.lastChild.textContent = course.contact ? since : "no contact was made";
}

/** Events so far, newest first, with what is not yet saved. `kindOf(key)` names a kind, `waits` holds keys. */
export function showLog(course, nowS, ended, kindOf, waits) {
  const rows = [...course.events].reverse().map((row) => {
    const kind = kindOf(row.kind);
    const stopped = row.note.startsWith(STOPPED);
    const what = stopped ? `Stopped: ${row.value}` : row.kind === "note" ? row.value : `${kind?.title ?? row.kind} ${row.value} ${row.value ? (kind?.unit ?? "") : ""}`.trim();
    const remark = row.steady_s === null ? "entered later" : stopped ? "" : row.note;
    return [row.t_s, what, waits.has(row.key), remark];
  });
  const seen = JSON.stringify(rows);
  const log = document.getElementById("log");
  if (log.dataset.seen !== seen) {
    log.dataset.seen = seen;
    log.replaceChildren(...rows.map(([t, what, waiting, remark]) => logItem(t, what, waiting, remark)));
    if (!ended) log.prepend(logItem("", "", false, ""));
  }
  if (ended) return;
  const burning = course.open();
  const [when, what] = log.firstElementChild.children;
  when.firstChild.textContent = `${tenths(nowS * 1000)} s`;
  what.textContent = burning.length ? `now, ${burning.map((span) => (span.kind === "ignites" ? "flame" : span.kind === "glow_starts" ? "glow" : "layer")).join(" and ")} burning` : "now";
}

function logItem(t, what, waiting, remark) {
  const item = document.createElement("li");
  const when = document.createElement("b");
  when.append(Object.assign(document.createElement("span"), { className: "keep", textContent: t === null || t === "" ? "" : `${t} s` }));
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
