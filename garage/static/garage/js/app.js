// What every page does: focus on errors, undo strips that pass, busy buttons, form keys, local drafts of text.
const start = (root) => {
  root.querySelector("[data-focus-now]")?.focus();
  for (const strip of root.querySelectorAll("[data-passing]")) setTimeout(() => strip.remove(), 10_000);
  for (const box of root.querySelectorAll("[data-submit-on-change]")) {
    if (box.dataset.ready) continue;
    box.dataset.ready = "1";
    box.addEventListener("change", () => box.form.requestSubmit());
  }
};

// A double tap sends once: the button goes busy with the first. A page that comes back from the
// browser's memory is fresh again.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return;
  if (form.dataset.sent) return event.preventDefault();
  form.dataset.sent = "1";
  event.submitter?.setAttribute("aria-busy", "true");
  const words = event.submitter?.dataset.busy;
  if (words) {
    event.submitter.dataset.idle = event.submitter.textContent;
    event.submitter.textContent = words;
  }
  // An answer that is a file to save leaves the page where it is.
  setTimeout(fresh, 10_000);
});
const fresh = () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  for (const button of document.querySelectorAll("[aria-busy=true]")) {
    button.removeAttribute("aria-busy");
    if (button.dataset.idle) button.textContent = button.dataset.idle;
  }
};
addEventListener("pageshow", (event) => event.persisted && fresh());
document.addEventListener("htmx:afterRequest", fresh);
document.addEventListener("htmx:load", (event) => start(event.detail.elt));
start(document);
