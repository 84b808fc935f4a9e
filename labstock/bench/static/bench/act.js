// A code that was scanned into an act's form leads on to the amount that belongs to it; without one the form is sent.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || !field.matches?.("form.sheet [data-takes-codes]") || event.defaultPrevented) return;
  const texts = [...field.form.querySelectorAll("input:not([type=hidden], [type=radio]), select")];
  const next = texts[texts.indexOf(field) + 1];
  if (field.value.trim() === "" || next?.inputMode !== "decimal" || next.value !== "") return;
  event.preventDefault();
  next.focus();
});
