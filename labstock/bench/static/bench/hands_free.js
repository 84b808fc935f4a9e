// The field waits for the scanner, whatever was touched.
const field = document.querySelector("[data-hands-free] input[name=code]");
if (field) {
  const wait = () => { if (!document.activeElement || document.activeElement === document.body) field.focus(); };
  field.addEventListener("blur", () => { setTimeout(wait, 200); });
  window.addEventListener("focus", wait);
  wait();
}
