// The device's steady clock. Elapsed time is always a difference of two of its readings, never a count of ticks.

/** Milliseconds on the steady clock; it goes on over a reload and in a hidden tab, and knows nothing of clock changes. */
export const steadyMs = () => performance.timeOrigin + performance.now();

/** Milliseconds as seconds with one decimal, as the bench clock shows and records them. */
export const tenths = (ms) => {
  const text = (Math.round(ms / 100) / 10).toFixed(1);
  return text === "-0.0" ? "0.0" : text;
};

const STEP_MS = 500;

/** Watches the clock of the day against the steady clock: a step is marked, and never moves a time. */
export class StepWatch {
  constructor(anchor) {
    this.base = anchor ? anchor.wall - anchor.steady : Date.now() - steadyMs();
  }

  /** How far the clock of the day stepped since the beginning, in ms; 0 when it did not. */
  get step() {
    const step = Date.now() - steadyMs() - this.base;
    return Math.abs(step) > STEP_MS ? step : 0;
  }

  /** The remark for an event recorded after a step, or nothing. */
  get remark() {
    const step = this.step;
    return step ? `clock_step ${step > 0 ? "+" : ""}${tenths(step)} s` : "";
  }
}
