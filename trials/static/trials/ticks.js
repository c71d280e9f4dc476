// The list beside the set-up: what is done, what still needs a hand, and why.

import { lower } from "./course.js";
import { shape, words } from "./keys.js";
import { broken } from "./setup.js";

/** Draw the list anew where something changed; its first two lines stand as the server wrote them. */
export function drawTicks(list, setup) {
  const rows = tickRows(setup);
  const seen = JSON.stringify(rows);
  if (list.dataset.seen === seen) return;
  list.dataset.seen = seen;
  const items = rows.map(([state, title, small, digit]) => {
    const item = document.createElement("li");
    if (state === "hand") item.className = "is-hand";
    const middle = document.createElement("span");
    const note = document.createElement("small");
    note.append(words(small));
    middle.append(words(title), note);
    item.append(shape(state), middle, Object.assign(document.createElement("span"), { textContent: digit ?? "" }));
    return item;
  });
  list.replaceChildren(...[...list.children].slice(0, 2), ...items);
}

/** One line each: [shape, title, small, digit]. */
function tickRows(setup) {
  const rows = setup.state.others.filter((one) => !one.key.startsWith("instrument")).map((one) => [one.holds ? "done" : one.enforced ? "hand" : "wait", one.title, one.holds ? one.found : one.reason]);
  for (const one of setup.state.others.filter((other) => other.key.startsWith("instrument") && !other.holds)) rows.push(["hand", one.title, one.reason]);
  for (const field of setup.fields.filter((one) => one.required && !one.rig)) {
    const bad = field.missing || field.holds === false;
    const value = field.kind === "yes-no" ? field.title : `${field.title} ${field.value} ${field.value ? field.unit : ""}`.trim();
    const done = field.sentence || (field.kind === "yes-no" ? "confirmed" : field.limit);
    rows.push([bad ? "hand" : "done", value, field.missing ? field.prompt || field.limit : done, bad ? field.digit : ""]);
  }
  const rig = setup.fields.filter((field) => field.rig && field.required);
  const given = rig.filter((field) => field.value);
  const wrong = rig.filter((field) => field.holds === false);
  const list = given.map((field) => `${lower(field.title)} ${field.value} ${field.unit}`.trim()).join(", ");
  if (rig.length) {
    const bad = wrong.length || given.length < rig.length;
    rows.push([bad ? "hand" : "done", `Rig, ${given.length} of ${rig.length} values`, wrong.map(broken).join(" ") || list || "as in its last trial, or typed"]);
  }
  const rest = setup.fields.filter((field) => !field.required && field.holds === false);
  for (const field of rest) rows.push(["wait", field.title, field.sentence]);
  if (setup.page.steady) {
    const { seconds } = setup.steadyNow();
    const enough = setup.steadyEnough;
    const left = Math.ceil(Number(setup.page.steady.window_s) - seconds);
    const tip = setup.state.tip?.holds === false ? setup.state.tip.reason : "";
    rows.push([tip ? "hand" : enough ? "done" : "wait", `${setup.page.steady.title} steady`, tip || (enough ? `${setup.page.steady.window_s} s and more` : `${left} s more while readings go on`)]);
  }
  return rows;
}
