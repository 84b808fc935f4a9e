// A handheld scanner types: a burst of characters, then Enter, Tab or nothing. Wherever the cursor is, a code of ours
// opens its page; in a field that asks for a code the burst stays there. On a shared tablet a badge switches the person.
(() => {
  const FEWEST = 5;      // shorter than any code: a place, L012X
  const QUICK_MS = 50;   // no person types this fast
  const SLOW_MS = 80;    // nor this fast a whole code whose check character fits: a slow scanner does
  const QUIET_MS = 250;  // a scanner that sends nothing after the code is done by then
  const CODE = "(?:[A-Z]{2}[0-9]{4,8}|[LPB][0-9]{3,15})[0-9A-Z]";
  // A keyboard set to another country types other signs for the colon and the slashes.
  const OURS = new RegExp(`^(?:https?[^A-Z0-9].*[^A-Z0-9][CSLPB][^A-Z0-9])?(${CODE})$|^(?:AMOUNT|ACT)[^A-Z0-9][0-9A-Z.]+$`, "i");
  const BADGE = /^(?:https?[^A-Z0-9]\S+[^A-Z0-9]P[^A-Z0-9])?P[0-9]{14}[0-9A-Z]$/i;
  const FOR_CODES = "[name=code], [name=badge], [data-takes-codes]";
  const ON_ONE_KEYBOARD = { Slash: "/", Period: ".", Semicolon: ":", Minus: "-" };
  let typed = "";
  let pressed = "";      // the same burst by the place of the keys: a scanner set to English on any other keyboard
  let slowest = 0;
  let last = 0;
  let before = null;
  let quiet = 0;

  // ISO 7064 MOD 37,36: the rule's home is labstock/stock/code_shape.py; here it tells a scan from typing and Y from Z.
  const fits = (text) => {
    const body = OURS.exec(text)?.[1]?.toUpperCase();
    if (!body) return OURS.test(text);
    let sum = 36;
    for (const character of body.slice(0, -1)) sum = (((sum + parseInt(character, 36)) % 36 || 36) * 2) % 37;
    return (sum + parseInt(body.at(-1), 36)) % 36 === 1;
  };

  const isWriting = (element) =>
    element instanceof HTMLElement &&
    (element.isContentEditable || element.matches("textarea, select, input:not([type=radio], [type=checkbox], [type=button], [type=submit])"));

  const hold = (element) => (isWriting(element) && "value" in element ? { element, value: element.value } : null);

  const write = (element, value) => {
    element.value = value;
    element.dispatchEvent(new Event("input", { bubbles: true }));
  };

  const switchPerson = (badge) => {
    const form = document.querySelector("[data-badge-form]");
    if (!form) return false;
    form.elements.badge.value = badge;
    form.requestSubmit();
    return true;
  };

  const open = (code) => {
    if (BADGE.test(code) && switchPerson(code)) return;
    // a page may know what the code is for here: a place, on the page of a bottle
    if (!document.dispatchEvent(new CustomEvent("scanned", { detail: code, cancelable: true }))) return;
    location.assign(`${document.documentElement.dataset.scan || "/scan/"}?code=${encodeURIComponent(code)}`);
  };

  // In a field for codes Enter does what it always does there; Tab does the same instead of leaving the field.
  const finishField = (field, code, by) => {
    if (code !== typed) write(field, field.value.replace(typed, code));
    if (by === "Enter") return false;
    if (field.matches("textarea")) write(field, `${field.value}\n`);
    else if (field.matches("[name=code], [name=badge]")) field.form?.requestSubmit();
    else return false;
    return true;
  };

  // Says whether the key that ended the burst is used up.
  const finish = (by) => {
    const at = document.activeElement;
    const code = [typed, pressed].find(fits) || [typed, pressed].find((text) => OURS.test(text)) || typed;
    const isScan = typed.length >= FEWEST && (fits(code) ? slowest < SLOW_MS : slowest < QUICK_MS);
    if (!isScan || (by === "" && !fits(code))) return false;
    const isSwitch = BADGE.test(code) && document.querySelector("[data-badge-form]");
    if (at instanceof HTMLElement && at.matches(FOR_CODES) && !isSwitch) return finishField(at, code, by);
    if (isWriting(at) && !OURS.test(code)) return false;
    if (before) write(before.element, before.value);   // what was typed by hand stays as it was
    open(code);
    return true;
  };

  const forget = () => { typed = pressed = ""; slowest = 0; };

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key === "Enter" || event.key === "Tab") {
      clearTimeout(quiet);
      if (event.timeStamp - last >= SLOW_MS) forget();
      if (finish(event.key)) event.preventDefault();
      forget();
    } else if (event.key.length === 1) {
      clearTimeout(quiet);
      const gap = event.timeStamp - last;
      if (gap >= SLOW_MS) { forget(); before = hold(document.activeElement); } else slowest = Math.max(slowest, gap);
      last = event.timeStamp;
      typed += event.key;
      pressed += /^(?:Key|Digit|Numpad)([A-Z0-9])$/.exec(event.code)?.[1] || ON_ONE_KEYBOARD[event.code] || event.key;
      quiet = setTimeout(() => { finish(""); forget(); }, QUIET_MS);
    }
  }, true);
})();
