// A handheld scanner types: a burst of characters ending in Enter. Wherever the cursor is, a code of ours opens its page;
// in a field that asks for a code the burst stays there. On a shared tablet a badge switches the person.
(() => {
  const FEWEST = 6;      // shorter than any code
  const GAP_MS = 50;     // no person types this fast
  const OURS = /^(?:https?:\/\/[^\s]+\/[CSLPB]\/[0-9A-Z]+|[A-Z]{2}[0-9]{4,8}[0-9A-Z]|[LPB][0-9]{3,15}[0-9A-Z]|(?:AMOUNT|ACT)\/[0-9A-Z.]+)$/i;
  const BADGE = /^(?:https?:\/\/[^\s]+\/P\/)?P[0-9]{14}[0-9A-Z]$/i;
  const FOR_CODES = "[name=code], [name=badge], [data-takes-codes]";
  let typed = "";
  let last = 0;
  let before = null;

  const isWriting = (element) =>
    element instanceof HTMLElement &&
    (element.isContentEditable || element.matches("textarea, select, input:not([type=radio], [type=checkbox], [type=button], [type=submit])"));

  const hold = (element) => (isWriting(element) && "value" in element ? { element, value: element.value } : null);

  const switchPerson = (badge) => {
    const form = document.querySelector("[data-badge-form]");
    if (!form) return false;
    form.elements.badge.value = badge;
    form.requestSubmit();
    return true;
  };

  const open = (code) => {
    if (BADGE.test(code) && switchPerson(code)) return;
    location.assign(`${document.documentElement.dataset.scan || "/scan/"}?code=${encodeURIComponent(code)}`);
  };

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const at = document.activeElement;
    const isQuick = event.timeStamp - last < GAP_MS;
    last = event.timeStamp;
    if (event.key === "Enter") {
      const isScan = isQuick && typed.length >= FEWEST;
      const isTheirs = at instanceof HTMLElement && at.matches(FOR_CODES) && !(BADGE.test(typed) && document.querySelector("[data-badge-form]"));
      if (isScan && !isTheirs && (!isWriting(at) || OURS.test(typed))) {
        event.preventDefault();
        if (before) before.element.value = before.value;   // what was typed by hand stays as it was
        open(typed);
      }
      typed = "";
    } else if (event.key.length === 1) {
      if (!isQuick) { typed = ""; before = hold(at); }
      typed += event.key;
    }
  }, true);
})();
