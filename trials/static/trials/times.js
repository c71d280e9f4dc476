// Times as people read them: seconds where a trial is short, minutes and seconds where it is long.

import { tenths } from "./clock.js";

const LONG_S = 600;

/** Whether a method's steps are so far apart that its times are read in minutes. */
export const isLong = (steps) => steps.some((step) => Number(step.due_s ?? 0) >= LONG_S);

const minutes = (seconds, parts) => {
  const text = tenths(Math.abs(seconds) * 1000);
  const whole = Math.floor(Number(text));
  const rest = String(whole % 60).padStart(2, "0");
  return `${seconds < 0 && Number(text) ? "−" : ""}${Math.floor(whole / 60)}:${rest}${parts ? `.${text.split(".")[1]}` : ""}`;
};

/** A moment with its tenths: "60.1 s", or "60:00.5 min". */
export const moment = (seconds, long) => (long ? `${minutes(seconds, true)} min` : `${tenths(seconds * 1000)} s`);

/** A moment in the narrow column of the log: "60.1 s", or "60:00.5". */
export const logTime = (seconds, long) => (long ? minutes(seconds, true) : moment(seconds, false));

/** A stretch in whole seconds: "24 s", or "41:05 min". */
export const lasts = (seconds, long) => (long && seconds >= 60 ? `${minutes(seconds, false)} min` : `${Number(seconds.toFixed(1))} s`);

/** A moment in two parts for the big clock: ["60", ".1 s"], or ["60:00", ".5"]. */
export function clockParts(seconds, long) {
  const [whole, part] = tenths(seconds * 1000).split(".");
  return long ? [minutes(Number(whole), false), `.${part}`] : [whole, `.${part} s`];
}

/** The label of a tick: seconds, or minutes where the axis is long. */
export const tickText = (seconds, long) => (long ? minutes(seconds, false) : String(seconds));
