// The steady minute on the set-up page: the last reading, the curve, the bar and the words below it.

import { drawTip } from "./draw.js";
import { words } from "./keys.js";

/** Draw how steady the temperature is as the set-up knows it now. */
export function drawSteady(setup) {
  const rule = setup.page.steady;
  const last = setup.readings.at(-1);
  const shows = rule.reads_c === rule.set_c ? "" : `, shown as ${rule.reads_c} °C`;
  const { seconds, fresh } = setup.steadyNow();
  const window_s = Number(rule.window_s);
  if (seconds >= window_s && setup.state.steady && !setup.state.steady.steady) setup.ask();
  const clock = document.getElementById("clock");
  if (last) {
    const [whole, part] = String(last[2].value).split(".");
    const big = Object.assign(document.createElement("b"), { textContent: whole });
    const small = Object.assign(document.createElement("small"), { textContent: `${part === undefined ? "" : `.${part}`} °C`, className: "keep" });
    big.append(small);
    const set = document.createElement("span");
    set.append(`set ${rule.set_c} ± ${rule.tolerance_k}${shows}`, Object.assign(document.createElement("small"), { textContent: `as read, ${setup.ageWords()}` }));
    clock.replaceChildren(big, set);
  } else {
    const set = Object.assign(document.createElement("span"), { textContent: `set ${rule.set_c} ± ${rule.tolerance_k} °C${shows}` });
    clock.replaceChildren(set);
  }
  const spread = setup.state.steady?.spread_k;
  const shown = Math.min(seconds, window_s);
  const span = Math.max(150, window_s * 1.25);
  const held = spread == null ? "" : `${Math.floor(seconds)} s within ${spread} K`;
  drawTip(document.getElementById("tip-plot"), setup.readings, rule, setup.bench.nowS, { span, steadyS: Math.min(seconds, span), label: held });
  const bar = document.getElementById("steady-bar");
  bar.setAttribute("aria-valuemax", rule.window_s);
  bar.setAttribute("aria-valuenow", String(Math.floor(shown)));
  bar.querySelector(".run").setAttribute("x2", `${(shown / window_s) * 100}%`);
  bar.querySelector("circle").setAttribute("cx", `${(shown / window_s) * 100}%`);
  const spreadWords = spread == null ? "" : ` Spread ${spread} K, ${rule.spread_k} K allowed.`;
  const why = setup.state.steady?.lack === "moved" && fresh ? ` ${setup.state.steady.sentence}.` : "";
  const text = last ? `Steady ${Math.floor(shown)} s of ${rule.window_s} s.${spreadWords}${why} Read at least every ${rule.gap_s} s.` : `${rule.window_s} s steady within ${rule.spread_k} K are asked, with a reading at least every ${rule.gap_s} s.`;
  const place = document.getElementById("steady-words");
  if (place.textContent !== text) place.replaceChildren(words(text));
}
