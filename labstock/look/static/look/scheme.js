// Light, dark or as the device says; kept in this browser only.
(() => {
  const root = document.documentElement;
  const kept = () => { try { return localStorage.scheme || ""; } catch { return ""; } };
  const paint = (choice) => {
    if (choice) root.setAttribute("data-theme", choice); else root.removeAttribute("data-theme");
    document.querySelectorAll("[data-set]").forEach((button) => button.setAttribute("aria-pressed", String(button.dataset.set === choice)));
  };
  paint(kept());
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll(".scheme").forEach((switcher) => { switcher.hidden = false; });
    paint(kept());
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-set]");
    if (!button) return;
    try { localStorage.scheme = button.dataset.set; } catch { /* private window: the choice lasts for this page */ }
    paint(button.dataset.set);
  });
})();
