// Small help for forms. Everything works without it.

// A form is sent once: the second press of an impatient glove does nothing.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post" || event.defaultPrevented) return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  setTimeout(() => delete form.dataset.sent, 4000);   // an answer that is a file leaves the page as it is
  const button = event.submitter;
  if (button?.dataset.busy) button.textContent = button.dataset.busy;
});
window.addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent));

// A tap on "5" writes 5 into the field the taps belong to.
document.addEventListener("click", (event) => {
  const tap = event.target.closest?.("[data-tap]");
  if (!tap) return;
  const box = document.getElementById(tap.closest("[data-taps]").dataset.taps);
  box.value = tap.dataset.tap;
  box.dispatchEvent(new Event("input", { bubbles: true }));
  box.focus();
});

// "Undo 42 s": counts down and then lets the words beside it speak.
const countDown = () => document.querySelectorAll("[data-until]").forEach((word) => {
  const left = Math.ceil((Date.parse(word.dataset.until) - Date.now()) / 1000);
  if (left > 0) { word.textContent = `${left} s`; return; }
  word.removeAttribute("data-until");
  word.textContent = "";
  word.closest("form")?.querySelector("button")?.setAttribute("disabled", "");
});
if (document.querySelector("[data-until]")) { countDown(); setInterval(countDown, 1000); }
