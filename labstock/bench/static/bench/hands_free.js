// The field waits for the scanner, whatever was touched.
const field = document.querySelector("[data-hands-free] :is(input[name=code], input[type=password][name=badge])");
if (field) {
  const wait = () => { if (!document.activeElement?.matches("a, button, input, select, textarea, summary")) field.focus(); };
  field.addEventListener("blur", () => { setTimeout(wait, 200); });
  window.addEventListener("focus", wait);
  wait();
}
