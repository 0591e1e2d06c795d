// While a class is planned, which takes seconds, its button says so, and a second tap sends nothing.

const SENT = "sent";

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-plans]")) return;
  if (SENT in form.dataset) {
    event.preventDefault();
    return;
  }
  form.dataset[SENT] = "";
  event.submitter?.setAttribute("aria-busy", "true");
});

// A page that comes back as it was left may send again.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll(`form[data-${SENT}]`)) {
    delete form.dataset[SENT];
    for (const button of form.querySelectorAll("[aria-busy]")) button.removeAttribute("aria-busy");
  }
});
