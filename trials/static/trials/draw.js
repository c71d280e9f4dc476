// The drawings of the bench pages. x in percent, y in px; only recorded things are drawn.

const SVG = "http://www.w3.org/2000/svg";

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

/** The section through the rig along time: flame above, wire, drips falling, layer below. `nowS` is null once it ended. */
export function drawCourse(svg, course, limits, nowS) {
  const times = course.events.map((row) => Number(row.t_s ?? 0));
  const end = Math.max(65, (limits.latest ?? 0) + 5, (nowS ?? 0) + 4, ...times.map((t) => t + 4));
  const x = (seconds) => Math.min(100, Math.max(0, ((seconds + 4) / (end + 4)) * 100));
  const now = nowS ?? Math.max(0, ...times);
  const parts = [];
  if (limits.latest !== null) parts.push(rect("field", x(limits.applied), 40, x(limits.latest), 44));
  parts.push(line("axis thin", x(now), 62, 100, 62), line("knotline", 0, 62, x(now), 62));
  if (course.contact) parts.push(line("wire", x(0), 62, x(course.withdrawn ? Number(course.withdrawn.t_s) : now), 62));
  for (const span of course.spans) {
    const layer = span.kind === "layer_catches";
    const y = layer ? 92 : 40;
    parts.push(rect(span.kind === "glow_starts" || span.value === "corona" ? "hatched" : "flame", x(span.from), y, x(span.to ?? now), layer ? 7 : 15));
    const word = layer ? "layer" : span.kind === "glow_starts" ? "glow" : span.value || "flame";
    const until = span.to === null ? "since" : `to ${span.to.toFixed(1)}, from`;
    parts.push(text(`${word} ${until} ${span.from.toFixed(1)} s`, x(span.from), layer ? 112 : 34, "halo"));
  }
  const drips = course.events.filter((row) => row.kind === "drip");
  drips.forEach((row, place) => {
    const spot = mark("svg", { x: `${x(Number(row.t_s))}%`, y: 70, width: 1, height: 1, overflow: "visible" });
    spot.append(mark("path", { class: "dot", d: "M0 0C4 6 4 9 0 11C-4 9 -4 6 0 0Z" }));
    parts.push(spot);
    if (place === drips.length - 1) parts.push(text(`drip ${row.t_s}`, x(Number(row.t_s)), 82, "halo", 9));
  });
  for (let tick = 0; tick <= end; tick += end > 130 ? 30 : 10) {
    parts.push(line("axis", x(tick), 100, x(tick), 105), text(String(tick), x(tick), 117, "tiny mid"));
  }
  if (limits.latest !== null) {
    parts.push(line("limit", x(limits.applied), 40, x(limits.applied), 84), line("limit", x(limits.latest), 40, x(limits.latest), 84));
    parts.push(text(`latest ${limits.latest.toFixed(1)} s`, x(limits.latest), 34, "end halo", -2));
  }
  if (nowS !== null) parts.push(line("h-line", x(now), 22, x(now), 86), text("now", x(now), 18, "h-text mid"));
  svg.replaceChildren(...parts);
  svg.setAttribute("aria-label", courseWords(course, limits));
}

function courseWords(course, limits) {
  const spans = course.spans.map((span) => `${span.value || span.kind.replace("_", " ")} from ${span.from} s ${span.to === null ? "on" : `to ${span.to} s`}`);
  const withdrawn = course.withdrawn ? `withdrawn at ${course.withdrawn.t_s} s` : "not withdrawn";
  const latest = limits.latest === null ? "" : `, latest allowed ${limits.latest} s`;
  return `Course of the trial: ${withdrawn}, ${spans.join(", ") || "no flame"}, ${course.count("drip")} drips${latest}.`;
}

/** Readings of the tip: [s, °C] up to `nowS`, the band around the set value, and the steady stretch. */
export function drawTip(svg, readings, rule, nowS, { span = 150, height = 196, steadyS = 0, label = "", contactS = null, end = "now" } = {}) {
  const set = Number(rule.set_c);
  const tolerance = Number(rule.tolerance_k);
  const shown = readings.filter(([t]) => t >= nowS - span);
  const low = Math.min(set - 2 * tolerance, ...shown.map(([, c]) => c));
  const high = Math.max(set + 2 * tolerance, ...shown.map(([, c]) => c));
  const top = 18;
  const bottom = height - 26;
  const y = (c) => top + ((high - c) / (high - low)) * (bottom - top);
  const x = (t) => Math.max(0, ((t - nowS + span) / span) * 100);
  const parts = [rect("field", 0, y(set + tolerance), 100, y(set - tolerance) - y(set + tolerance)), line("grid", 0, y(set), 100, y(set))];
  if (shown.length > 1) parts.push(trace(shown.map(([t, c]) => [x(t), y(c)]), height));
  for (const [t, c] of shown) parts.push(mark("circle", { class: "dot", cx: `${x(t)}%`, cy: y(c), r: 2 }));
  parts.push(text(`${set + tolerance} °C`, 0, y(set + tolerance) - 4, "halo"), text(`${set - tolerance} °C`, 0, y(set - tolerance) + 14, "halo"));
  if (steadyS > 0) {
    const edge = y(set - tolerance) + 6;
    parts.push(line("knotline", x(nowS - steadyS), edge - 6, x(nowS - steadyS), edge), line("knotline", x(nowS - steadyS), edge, 100, edge));
    parts.push(text(label, 100, edge + 16, "strong end halo"));
  }
  if (contactS !== null && contactS >= nowS - span) {
    parts.push(line("knotline", x(contactS), 2, x(contactS), bottom), text("contact", x(contactS), 12, "halo", 6));
  }
  parts.push(text(`−${span} s`, 0, height - 8, "tiny"), text(end, 100, height - 8, "tiny end"));
  svg.replaceChildren(...parts);
  const last = shown.at(-1);
  const words = last ? `last reading ${last[1]} °C` : "no reading in this time";
  svg.setAttribute("aria-label", `Temperature over the last ${span} s: ${words}, allowed ${set - tolerance} to ${set + tolerance} °C. ${label}`);
}
