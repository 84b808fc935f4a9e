// A handheld scanner types: a burst of characters ending in Enter. Where no field waits for it, it opens the container.
(() => {
  const FEWEST = 6;      // shorter than any code
  const GAP_MS = 50;     // no person types this fast
  let typed = "";
  let last = 0;

  const isWriting = (element) =>
    element instanceof HTMLElement &&
    (element.isContentEditable || element.matches("textarea, select, input:not([type=radio], [type=checkbox], [type=button], [type=submit])"));

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || isWriting(document.activeElement)) return;
    const isQuick = event.timeStamp - last < GAP_MS;
    last = event.timeStamp;
    if (event.key === "Enter") {
      if (isQuick && typed.length >= FEWEST) {
        event.preventDefault();
        location.assign(`${document.documentElement.dataset.scan || "/scan/"}?code=${encodeURIComponent(typed)}`);
      }
      typed = "";
    } else if (event.key.length === 1) {
      typed = (isQuick ? typed : "") + event.key;
    }
  });
})();
