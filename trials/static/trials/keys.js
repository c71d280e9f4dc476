// The keys of a bench page: big enough for a glove, each with its digit, exactly one that Enter presses.

const BOUNCE_MS = 150;
const OWN_ACT_MS = 500; // a change of the main key this soon after a press is that press's doing
const LATE_LOOK_MS = 400; // nobody sees a key change and presses it sooner
const REST_MS = 400; // a second Enter this soon after the box was left is the same hand still leaving it

function make(tag, className, ...children) {
  const node = document.createElement(tag);
  if (className) node.className = className;
  node.append(...children.filter((child) => child !== "" && child !== null && child !== undefined));
  return node;
}

/** Text whose numbers never part from their units. */
export function words(text) {
  const span = make("span", "");
  for (const part of String(text).split(/(−?\d+(?::\d\d)?(?:\.\d+)?(?: to \d+(?:\.\d+)?)? (?:s|K|N|mm|°C|lx|min)\b)/)) {
    if (/^−?\d.* \S+$/.test(part)) span.append(make("span", "keep", part));
    else span.append(part);
  }
  return span;
}

const SVG = "http://www.w3.org/2000/svg";

/** A status shape as the rest of the program draws it. */
export function shape(name) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("class", "shape");
  svg.setAttribute("viewBox", "0 0 26 15");
  svg.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(SVG, "use");
  use.setAttribute("href", `#s-${name}`);
  svg.append(use);
  return svg;
}

export class Keys {
  constructor(root, { now }) {
    this.root = root;
    this.now = now;
    this.specs = [];
    this.pressed = new Map();
    this.lastPressMs = -Infinity;
    this.turned = null; // the main key before it changed by itself, and when
    this.leftMs = -Infinity;
    document.addEventListener("keydown", (event) => this.keydown(event));
  }

  /** Show these keys: {id, digit, also, title, small, next, href, wide, press}; `also` is a digit not shown. Only what changed is drawn anew. */
  show(specs) {
    const [before, after] = [this.specs, specs].map((list) => list.find((spec) => spec.next));
    const byItself = this.now() - this.lastPressMs > OWN_ACT_MS;
    if (before && after && before.id !== after.id) this.turned = byItself ? { spec: before, ms: this.now() } : null;
    const shape = (list) => JSON.stringify(list.map(({ id, digit, title, next, href, off }) => [id, digit, title, next, href, off]));
    if (shape(specs) !== shape(this.specs)) this.root.replaceChildren(...specs.map((spec) => this.key(spec)));
    this.specs = specs;
    for (const [place, spec] of specs.entries()) {
      const small = this.root.children[place].querySelector("small");
      if (small.textContent !== (spec.small ?? "")) small.replaceChildren(words(spec.small ?? ""));
    }
  }

  key(spec) {
    const node = make(spec.href ? "a" : "button", spec.next ? "key next" : "key");
    if (spec.href) node.href = spec.href;
    else node.type = "button";
    node.dataset.key = spec.id;
    if (spec.off) node.setAttribute("aria-disabled", "true");
    const small = make("small", "");
    if (spec.next) {
      const digits = spec.digit && spec.digit !== "Enter" ? [make("kbd", "", spec.digit), " or "] : [];
      node.append(make("span", "", ...digits, make("kbd", "", "Enter")), make("span", "", words(spec.title), small));
      node.setAttribute("aria-keyshortcuts", [spec.digit, "Enter"].filter((key, i, all) => key && all.indexOf(key) === i).join(" "));
    } else {
      if (spec.digit) node.append(make("kbd", "", spec.digit));
      if (spec.digit) node.setAttribute("aria-keyshortcuts", spec.digit);
      node.append(words(spec.title), small);
    }
    node.addEventListener("click", (event) => {
      if (!spec.href) event.preventDefault();
      node.blur();
      this.press(spec.id);
    });
    return node;
  }

  /** One press; the same key again within 150 ms is the bounce of one press.
   *
   * When the main key has just changed by itself, the press was aimed at what it said before.
   */
  press(pressed) {
    const now = this.now();
    const found = this.specs.find((one) => one.id === pressed);
    const spec = found?.next && this.turned && now - this.turned.ms < LATE_LOOK_MS ? this.turned.spec : found;
    const id = spec?.id ?? pressed;
    const before = this.pressed.get(id);
    this.pressed.set(id, now);
    this.lastPressMs = now;
    if (!spec || spec.off || (before !== undefined && now - before < BOUNCE_MS)) return;
    if (spec.href) location.assign(spec.href);
    else spec.press();
  }

  /** From now on for a moment Enter presses nothing. */
  restEnter() {
    this.leftMs = this.now();
  }

  keydown(event) {
    if (event.defaultPrevented) return; // a digit that chose something in the panel, which is gone by now
    const target = event.target;
    const choosing = target instanceof HTMLElement && target.dataset.choosing && event.key === "Enter";
    if (!choosing && target instanceof HTMLElement && target.closest("input, select, textarea, summary, .values, .panel")) return;
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    const tabbed = target instanceof HTMLElement ? target.closest("a, button") : null;
    if (event.key === "Enter" && tabbed) return; // a key reached by Tab is pressed by itself
    const spec = this.specs.find((one) => (event.key === "Enter" ? one.next : one.digit === event.key || one.also === event.key));
    if (!spec) return;
    event.preventDefault();
    if (event.key === "Enter" && this.now() - this.leftMs < REST_MS) return;
    this.press(spec.id);
  }
}

/** The one place where something is typed or chosen; the screen behind stays as it is. */
export class Panel {
  /** `onLeft()` is called when Enter on an empty box closed it. */
  constructor(root, { onLeft = () => {} } = {}) {
    this.root = root;
    this.onLeft = onLeft;
    this.asked = ""; // the title of the open box
  }

  /** Go on typing in the box of this title, if it is open. */
  goOn(title) {
    if (this.asked !== title) return false;
    this.root.querySelector("input").focus();
    return true;
  }

  get open() {
    return !this.root.hidden;
  }

  close() {
    this.asked = "";
    this.root.hidden = true;
    this.root.replaceChildren();
  }

  leave() {
    this.close();
    this.onLeft();
  }

  /**
   * Ask for a text or number; Enter on an empty box goes back, unless `stay()` says that more is to be typed: a box that
   * closed would let the next number's first digit press a key. `save(text)` answers with a sentence, or "" when saved.
   */
  ask({ title, hint = "", unit = "", numeric = false, value = "", again = false, stay = () => false, save }) {
    const input = make("input", numeric ? "w-m" : "w-l");
    Object.assign(input, { id: "typing", type: "text", autocomplete: "off", value });
    input.maxLength = 200;
    if (numeric) input.inputMode = "decimal";
    const label = make("label", "", unit ? `${title}, ${unit}` : title);
    label.htmlFor = "typing";
    const told = make("p", "hint", hint ? words(hint) : "");
    const why = make("p", "why");
    told.id = "typing-hint";
    why.id = "typing-why";
    why.setAttribute("role", "alert");
    input.setAttribute("aria-describedby", "typing-hint typing-why");
    const enter = async () => {
      const text = input.value.trim();
      if (!text) return stay() ? undefined : this.leave();
      const sentence = await save(text);
      why.textContent = sentence || "";
      if (sentence) input.setAttribute("aria-invalid", "true");
      else if (again) {
        input.removeAttribute("aria-invalid");
        input.value = "";
      } else if (this.root.contains(input)) this.close();
      return undefined;
    };
    input.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close();
      if (event.key !== "Enter" || event.repeat) return;
      event.preventDefault();
      enter();
    });
    const done = make("button", "step", "Enter it");
    done.type = "button";
    done.addEventListener("click", enter);
    const back = make("button", "step", "Back");
    back.type = "button";
    back.addEventListener("click", () => this.close());
    this.root.replaceChildren(label, make("div", "typed", input, done, back), told, why);
    this.root.hidden = false;
    this.asked = title;
    input.focus();
    input.select();
  }

  /** Offer choices, the first nine on a digit; `0` or Escape leaves it for later. `pick(value)` is called once. */
  choose({ title, hint = "", choices, later = "Back", pick }) {
    const heading = make("p", "label-text", title);
    heading.id = "choosing";
    const list = make("div", "keys");
    list.setAttribute("role", "group");
    list.setAttribute("aria-labelledby", "choosing");
    const offer = (digit, text, small, act) => {
      const button = make("button", "key", digit ? make("kbd", "", digit) : "", text, make("small", "", small));
      button.type = "button";
      if (digit) button.dataset.digit = digit;
      button.addEventListener("click", () => {
        this.close();
        act();
      });
      return button;
    };
    choices.forEach((choice, place) => list.append(offer(place < 9 ? String(place + 1) : "", choice.title, choice.small ?? "", () => pick(choice.value))));
    list.append(offer("0", later, "", () => {}));
    list.addEventListener("keydown", (event) => {
      const button = event.key === "Escape" ? list.lastElementChild : list.querySelector(`[data-digit="${CSS.escape(event.key)}"]`);
      if (!button || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      button.click();
    });
    this.root.replaceChildren(heading, make("p", "hint", hint ? words(hint) : ""), list);
    this.root.hidden = false;
    this.asked = "";
    list.tabIndex = -1; // focused so that digits choose; Enter still presses the page's main key
    list.dataset.choosing = "yes";
    list.focus();
  }
}
