// The page after the trial: its course, and no signature while presses still wait on this tablet.

import { courseOf, limitsOf, stepsWithBeat } from "./course.js";
import { drawCourse } from "./draw.js";
import { Outbox, waiting } from "./outbox.js";
import { isLong } from "./times.js";

const page = JSON.parse(document.getElementById("page").textContent);
page.steps = stepsWithBeat(page.steps, page.beat, page.beat?.asked ? page.state.fields[page.beat.asked]?.value : "");
page.long = isLong(page.steps);
const course = courseOf(page.rows, page);
drawCourse(document.getElementById("course-plot"), course, page, limitsOf(course, page.steps), null);
document.documentElement.classList.toggle("dim", localStorage.getItem("bench-dim") === "1");

let sent = false;
const outbox = new Outbox({
  person: page.person,
  trial: page.trial,
  url: page.urls.events,
  now: () => "0",
  onAnswer: () => (sent = true),
  onChange: () => {
    const count = waiting(page.person, page.trial);
    const field = document.getElementById("unsaved");
    if (field) field.value = String(count);
    document.getElementById("saving").textContent = outbox.words;
    if (sent && !count) location.reload(); // the verdict must be looked at with what has just arrived
  },
});
outbox.onChange();
outbox.keepTrying();
