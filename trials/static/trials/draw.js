// The drawings of the bench pages. x in percent, y in px; only recorded things are drawn.

import { lower, spanWord } from "./course.js";
import { moment, tickText } from "./times.js";

const SVG = "http://www.w3.org/2000/svg";
const CHARACTER_PX = 6.4;
const LINE_PX = 13;
const TICKS = [5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600];

function mark(name, attributes, words) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (words !== undefined) node.textContent = words;
  return node;
}

const line = (css, x1, y1, x2, y2) => mark("line", { class: css, x1: `${x1}%`, x2: `${x2}%`, y1, y2 });
const rect = (css, x1, y, x2, height) => mark("rect", { class: css, x: `${x1}%`, width: `${Math.max(0, x2 - x1)}%`, y, height });
const text = (words, x, y, css = "", dx = 0) => mark("text", { class: css, x: `${x}%`, y, dx }, words);

function trace(points, height) {
  const frame = mark("svg", { x: 0, y: 0, width: "100%", height, viewBox: `0 0 1000 ${height}`, preserveAspectRatio: "none" });
  frame.append(mark("polyline", { class: "trace", points: points.map(([x, y]) => `${(x * 10).toFixed(1)},${y.toFixed(1)}`).join(" ") }));
  return frame;
}

/** Labels that run neither into each other nor off the drawing; one that fits nowhere is left out. */
class Labels {
  constructor(svg) {
    this.width = svg.clientWidth || 740;
    this.taken = [];
  }

  /** Keep an upright line free, from the top to the bottom. */
  keepFree(x) {
    const at = (x / 100) * this.width;
    this.taken.push([at - 2, at + 2, null]);
  }

  /** The label beside `x`, on the first of the heights and sides where it fits. */
  place(words, x, heights, css = "halo", sides = ["start", "end"], dx = 5) {
    const at = (x / 100) * this.width;
    const length = words.length * CHARACTER_PX;
    const spans = { start: [at + dx, at + dx + length], end: [at - dx - length, at - dx], mid: [at - length / 2, at + length / 2] };
    for (const y of heights) {
      for (const side of sides) {
        const [left, right] = spans[side];
        const free = this.taken.every(([from, to, height]) => (height !== null && Math.abs(height - y) >= LINE_PX) || right + 3 <= from || left >= to + 3);
        if (left < 0 || right > this.width || !free) continue;
        this.taken.push([left, right, y]);
        return [text(words, x, y, side === "start" ? css : `${css} ${side}`, { start: dx, end: -dx, mid: 0 }[side])];
      }
    }
    return [];
  }
}

/** How far the axis goes: to what is due, to what was recorded and to now, with a little room. */
function axisOf(course, page, limits, nowS) {
  const times = course.events.map((row) => Number(row.t_s ?? 0));
  const due = page.steps.reduce((from, step) => Math.max(from, course.at(step.kind) ?? (course.at(step.after) ?? from) + Number(step.due_s ?? 0)), 0);
  const end = Math.max(20, due, limits.latest ?? 0, nowS ?? 0, ...times) * 1.06;
  return { end, now: nowS ?? Math.max(0, ...times), x: (seconds) => Math.min(100, 5 + (Math.max(0, seconds) / end) * 95) };
}

function axisMarks({ end, x }, y, long) {
  const step = TICKS.find((one) => end / one <= 9) ?? TICKS.at(-1);
  const marks = [];
  for (let tick = 0; tick <= end; tick += step) {
    const css = x(tick) > 97 ? "tiny end" : "tiny mid";
    marks.push(line("axis", x(tick), y, x(tick), y + 5), text(tickText(tick, long), x(tick), y + 17, css));
  }
  return marks;
}

/** The course of a trial along time. `nowS` is null once it ended. */
export function drawCourse(svg, course, page, limits, nowS) {
  const axis = axisOf(course, page, limits, nowS);
  const labels = new Labels(svg);
  const parts = [];
  if (nowS !== null) {
    labels.keepFree(axis.x(nowS));
    parts.push(line("h-line", axis.x(nowS), 16, axis.x(nowS), 98), text("now", axis.x(nowS), 12, "h-text mid"));
    labels.taken.push([(axis.x(nowS) / 100) * labels.width - 14, (axis.x(nowS) / 100) * labels.width + 14, 12]);
  }
  const drawn = page.names.burns ? section(course, page, limits, axis, labels) : events(course, page, axis, labels);
  svg.replaceChildren(...drawn, ...axisMarks(axis, 100, page.long), ...parts);
  svg.setAttribute("aria-label", courseWords(course, page, limits));
}

/** The section through the rig: flame above, the specimen with what acts on it, drips falling, the layer below. */
function section(course, page, limits, axis, labels) {
  const { x, now } = axis;
  const areas = [line("axis thin", x(now), 62, 100, 62), line("knotline", x(0) - 5, 62, x(now), 62)];
  const named = [];
  if (limits.latest !== null) {
    for (const limit of [limits.applied, limits.latest]) {
      labels.keepFree(x(limit));
      areas.push(line("limit", x(limit), 38, x(limit), 86));
    }
    areas.unshift(rect("field", x(limits.applied), 38, x(limits.latest), 48));
    named.push(...labels.place(`latest ${moment(limits.latest, page.long)}`, x(limits.latest), [34, 20], "halo", ["end", "start"]));
  }
  for (const act of course.acts) areas.push(line("wire", x(act.from), 62, x(act.to ?? now), 62));
  for (const span of course.spans) {
    const layer = span.kind === "layer_catches";
    areas.push(rect(span.kind === "glow_starts" || span.value === "corona" ? "hatched" : "flame", x(span.from), layer ? 90 : 42, x(span.to ?? now), layer ? 7 : 14));
    const title = page.kinds.find((kind) => kind.key === span.kind)?.title;
    const until = span.to === null ? `since ${moment(span.from, page.long)}` : `${span.from.toFixed(1)} to ${moment(span.to, page.long)}`;
    named.push(...labels.place(`${spanWord(span, page.names, title)} ${until}`, x(span.from), layer ? [86] : [34, 20], "halo"));
  }
  const drips = course.events.filter((row) => row.kind === "drip");
  for (const row of drips) {
    const spot = mark("svg", { x: `${x(Number(row.t_s))}%`, y: 68, width: 1, height: 1, overflow: "visible" });
    spot.append(mark("path", { class: "dot", d: "M0 0C4 6 4 9 0 11C-4 9 -4 6 0 0Z" }));
    areas.push(spot);
  }
  const last = drips.at(-1);
  if (last) named.push(...labels.place(`drip ${moment(Number(last.t_s), page.long)}`, x(Number(last.t_s)), [80], "halo", ["start", "end"], 9));
  return [...areas, ...named];
}

/** What happened along time, where nothing is expected to burn: what acts as a thick line, events as knots. */
function events(course, page, axis, labels) {
  const { x, now } = axis;
  const parts = [line("axis thin", x(now), 70, 100, 70), line("knotline", x(0), 70, x(now), 70)];
  for (const act of course.acts) parts.push(line("wire", x(act.from), 70, x(act.to ?? now), 70));
  for (const row of course.events.filter((one) => one.t_s !== null)) {
    const title = page.kinds.find((kind) => kind.key === row.kind)?.title ?? row.kind;
    const at = x(Number(row.t_s));
    parts.push(mark("circle", { class: "dot", cx: `${at}%`, cy: 70, r: 4 }));
    parts.push(...labels.place(`${lower(title)} ${moment(Number(row.t_s), page.long)}`, at, [54, 40, 26, 90], "halo"));
  }
  return parts;
}

function courseWords(course, page, limits) {
  const title = (key) => lower(page.kinds.find((kind) => kind.key === key)?.title ?? key);
  const spans = course.spans.map((span) => `${spanWord(span, page.names, title(span.kind))} from ${span.from} s ${span.to === null ? "on" : `to ${span.to} s`}`);
  const steps = course.done.slice(1).map((step) => `${lower(step.title)} at ${course.at(step.kind)} s`);
  const latest = limits.latest === null ? "" : `latest allowed ${limits.latest} s`;
  const burns = page.names.burns ? [spans.join(", ") || "no flame", `${course.count("drip")} drips`] : spans;
  return `Course of the trial: ${[...steps, ...burns, latest].filter(Boolean).join(", ") || "nothing yet"}.`;
}

/** Readings of a temperature: [s, °C] up to `nowS`, the band around the set value as the display shows it, and the steady stretch. */
export function drawTip(svg, readings, rule, nowS, { span = 150, height = 196, steadyS = 0, label = "", startS = null, startWord = "", end = "now" } = {}) {
  const [set, from, to] = [rule.reads_c, rule.low_c, rule.high_c].map(Number);
  const shown = readings.filter(([t]) => t >= nowS - span);
  const low = Math.min(2 * from - set, ...shown.map(([, c]) => c));
  const high = Math.max(2 * to - set, ...shown.map(([, c]) => c));
  const top = 18;
  const bottom = height - 26;
  const y = (c) => top + ((high - c) / (high - low)) * (bottom - top);
  const x = (t) => Math.max(0, ((t - nowS + span) / span) * 100);
  const labels = new Labels(svg);
  const parts = [rect("field", 0, y(to), 100, y(from) - y(to)), line("grid", 0, y(set), 100, y(set))];
  if (shown.length > 1) parts.push(trace(shown.map(([t, c]) => [x(t), y(c)]), height));
  for (const [t, c] of shown) parts.push(mark("circle", { class: "dot", cx: `${x(t)}%`, cy: y(c), r: 2 }));
  parts.push(...labels.place(`${to} °C`, 0, [y(to) - 4], "halo", ["start"], 0));
  parts.push(...labels.place(`${from} °C`, 0, [y(from) + (steadyS > 0 ? 22 : 14)], "halo", ["start"], 0));
  if (steadyS > 0) {
    const edge = y(from) + 6;
    parts.push(line("knotline", x(nowS - steadyS), edge - 6, x(nowS - steadyS), edge), line("knotline", x(nowS - steadyS), edge, 100, edge));
    parts.push(...labels.place(label, 100, [edge + 16], "strong halo", ["end"], 0));
  }
  if (startS !== null && startS >= nowS - span) {
    parts.push(line("knotline", x(startS), 2, x(startS), bottom), ...labels.place(startWord, x(startS), [12, bottom - 4], "halo", ["start", "end"]));
  }
  parts.push(text(`−${span} s`, 0, height - 8, "tiny"), text(end, 100, height - 8, "tiny end"));
  svg.replaceChildren(...parts);
  const last = shown.at(-1);
  const words = last ? `last reading ${last[1]} °C` : "no reading in this time";
  svg.setAttribute("aria-label", `Temperature over the last ${span} s: ${words}, allowed ${from} to ${to} °C. ${label}`);
}
