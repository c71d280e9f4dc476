// Presses wait here, in order, until the server has them. Each is written to the tablet before it is shown as pressed.

const PREFIX = "bench-outbox";

const token = () => decodeURIComponent(document.cookie.match(/(?:^|; )csrftoken=([^;]*)/)?.[1] ?? "");

/** A key that nobody else makes; randomUUID exists only where the page came over a protected connection. */
export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

export class Outbox {
  /** `onAnswer(answer)` gets each reply of the server, `onChange()` is called whenever something is to be shown anew. */
  constructor({ person, trial, url, onAnswer = () => {}, onChange = () => {}, now = () => "" }) {
    Object.assign(this, { person, trial, url, onAnswer, onChange, now });
    this.name = `${PREFIX}:${person}:${trial}`;
    this.state = "quiet"; // quiet, sending, offline, signed out, stopped
    this.sentence = "";
    this.busy = false;
  }

  /** What waits, oldest first; read from the tablet each time, because another tab may have sent some. */
  get rows() {
    return JSON.parse(localStorage.getItem(this.name) ?? "[]");
  }

  add(row) {
    localStorage.setItem(this.name, JSON.stringify([...this.rows, row]));
    this.onChange();
    this.drain();
  }

  drop(keys) {
    const left = this.rows.filter((row) => !keys.has(row.key));
    if (left.length) localStorage.setItem(this.name, JSON.stringify(left));
    else localStorage.removeItem(this.name);
  }

  /** Send what waits, first in first out, until all is answered, one is refused or the network is gone. */
  async drain() {
    if (this.busy || !this.rows.length) return;
    this.busy = true;
    try {
      while (this.rows.length && (await this.send(this.rows.slice(0, 50))));
    } finally {
      this.busy = false;
      this.onChange();
    }
  }

  async send(events) {
    let response;
    try {
      response = await fetch(`${this.url}?steady_s=${this.now()}`, {
        method: "POST",
        redirect: "manual",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
        body: JSON.stringify({ person: this.person, sent_at: new Date().toISOString(), events }),
      });
    } catch {
      return this.wait("offline", "");
    }
    if (response.type === "opaqueredirect" || response.status === 403) {
      return this.wait("signed out", "You are signed out. Sign in again in this browser; everything pressed is kept.");
    }
    if (response.status >= 500) return this.wait("offline", "");
    const answer = await response.json().catch(() => ({}));
    if (!response.ok) return this.wait("stopped", answer.sentence ?? `The server answered ${response.status}.`);
    this.drop(new Set(answer.answers.filter((one) => one.status === "saved").map((one) => one.key)));
    const refused = answer.answers.find((one) => one.status === "refused");
    this.onAnswer(answer, new Set(answer.answers.filter((one) => one.status === "saved").map((one) => one.key)));
    if (refused) return this.wait("stopped", refused.sentence);
    this.wait("quiet", "");
    return true;
  }

  wait(state, sentence) {
    this.state = state;
    this.sentence = sentence;
    this.onChange();
    return false;
  }

  /** Try again on load, when the network or the page comes back, and every few seconds while something waits. */
  keepTrying() {
    for (const moment of ["online", "focus", "pageshow"]) window.addEventListener(moment, () => this.drain());
    document.addEventListener("visibilitychange", () => this.drain());
    setInterval(() => this.drain(), 3000);
    this.drain();
  }

  /** One line for the rail: nothing when all is saved. */
  get words() {
    const count = this.rows.length;
    if (!count) return "";
    if (this.sentence) return `${count} not yet saved, kept on this tablet. ${this.sentence}`;
    return `${count} not yet saved, kept on this tablet`;
  }
}

/** How many presses of this person wait on this tablet for one trial. */
export const waiting = (person, trial) => JSON.parse(localStorage.getItem(`${PREFIX}:${person}:${trial}`) ?? "[]").length;
