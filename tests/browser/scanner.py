"""A handheld scanner that types into whatever has the cursor."""

from playwright.sync_api import Page

# A burst as the browser would handle it. On a busy machine the driver's own typing has gaps that no scanner has.
BURST = """typed => {
  const press = (key) => document.activeElement.dispatchEvent(
    new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
  const field = document.activeElement;
  for (const key of typed) if (press(key) && 'value' in field) field.value += key;
  if (press('Enter') && field.form) field.form.requestSubmit();
  return field.value || '';
}"""


def handheld(page: Page, text: str) -> str:
    """Let a handheld scanner type; return what stands in the field that had the cursor."""
    return str(page.evaluate(BURST, text))
