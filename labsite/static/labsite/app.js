// Small behaviours of the desk pages. Every page works without them.

// A scanner types like a keyboard and ends with Enter: inside a long form that must not send the form.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || !(field instanceof HTMLInputElement)) return;
  const form = field.form;
  if (form && form.classList.contains("form") && !["submit", "button", "checkbox", "radio", "file"].includes(field.type)) {
    event.preventDefault();
  }
});

// After "Back" the browser may show a frozen page: the buttons must be alive.
window.addEventListener("pageshow", () => {
  for (const button of document.querySelectorAll("button[data-sent]")) {
    button.disabled = false;
    delete button.dataset.sent;
  }
});

// One press is enough. The server takes a form once anyway; this only stops a nervous second press.
document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!(button instanceof HTMLButtonElement) || event.defaultPrevented || !button.closest("form[method=post]")) return;
  setTimeout(() => {
    button.disabled = true;
    button.dataset.sent = "yes";
  });
});

// A list of levels of all methods shows those of the chosen one: its groups' values begin with the method's name.
// Without this, or before a method is chosen, all groups stand there under their titles.
const levelGroups = new WeakMap();

function narrowLevels(list, keep) {
  const method = list.form.elements[list.dataset.narrowedBy];
  if (!levelGroups.has(list)) levelGroups.set(list, [...list.querySelectorAll("optgroup")]);
  const slug = method.value.split("@")[0];
  const chosen = list.value;
  const own = (group) => !slug || [...group.children].some((option) => option.value.startsWith(`${slug}/`));
  const kept = (group) => keep && [...group.children].some((option) => option.value === chosen);
  for (const group of levelGroups.get(list)) group.remove();
  list.append(...levelGroups.get(list).filter((group) => own(group) || kept(group)));
  list.value = [...list.options].some((option) => option.value === chosen) ? chosen : "";
}

document.addEventListener("change", (event) => {
  for (const list of event.target.form?.querySelectorAll("select[data-narrowed-by]") ?? []) {
    if (list.dataset.narrowedBy === event.target.name) narrowLevels(list, false);
  }
});

// What was typed stays, also where it fits no longer: then its own group is shown besides, and the form says why.
window.addEventListener("pageshow", () => {
  for (const list of document.querySelectorAll("select[data-narrowed-by]")) narrowLevels(list, true);
});
