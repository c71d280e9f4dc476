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
