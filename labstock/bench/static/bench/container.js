// The one-number form says what it will do. Without this file it does the same, more quietly.
const form = document.querySelector("[data-record]");
if (form) {
  const amount = form.querySelector("#amount");
  const unit = form.querySelector("[name=unit]");
  const gross = form.querySelector("#gross");
  const byMass = form.querySelector("#by-mass");
  const button = form.querySelector("[data-word]");
  const after = form.querySelector("[data-after]");
  const left = Number(form.dataset.left);

  const plain = (text) => Number(text.trim().replace(",", "."));
  const digits = (text) => (text.trim().replace(",", ".").split(".")[1] || "").length;

  const say = () => {
    const isMass = byMass?.checked;
    const typed = (isMass ? gross : amount).value.trim();
    const its = isMass ? "g" : unit.value;
    const isNumber = typed !== "" && Number.isFinite(plain(typed));
    button.textContent = typed ? `${button.dataset.word} ${typed}${isNumber ? `\u00a0${its}` : ""}` : button.dataset.word;
    const rest = left - plain(typed);
    after.hidden = isMass || !isNumber || its !== form.dataset.unit || rest < 0;
    if (!after.hidden) after.querySelector("b").textContent = `${rest.toFixed(Math.max(digits(typed), 1))}\u00a0${its}`;
  };

  form.querySelectorAll(".taps").forEach((taps) => { taps.hidden = false; });
  // "all" is all of the book amount, in the book's unit
  form.querySelector("[data-all]")?.addEventListener("click", () => { unit.value = form.dataset.unit; });
  form.addEventListener("input", say);
  form.addEventListener("change", say);
  byMass?.addEventListener("change", () => gross.focus());
  say();
}

// The place scanned after the bottle: it stands there now.
const move = document.querySelector("[data-move]");
if (move) {
  document.addEventListener("scanned", (event) => {
    if (!/(?:^|[^A-Z0-9])L[0-9]{3,15}[0-9A-Z]$/i.test(event.detail)) return;
    event.preventDefault();
    move.elements.place.value = event.detail;
    move.requestSubmit();
  });
}
