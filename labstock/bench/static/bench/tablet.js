// A shared tablet locks when nobody has touched it for two minutes; a long entry keeps it awake on the server too.
const lock = document.querySelector("[data-lock]");
if (lock) {
  const LOCK_MS = 120_000;
  const TELL_MS = 30_000;
  let timer = setTimeout(() => lock.requestSubmit(), Number(lock.dataset.lock) * 1000);
  let told = performance.now();
  const touched = () => {
    clearTimeout(timer);
    timer = setTimeout(() => lock.requestSubmit(), LOCK_MS);
    if (performance.now() - told > TELL_MS) {
      told = performance.now();
      fetch(lock.dataset.awake, { redirect: "manual" }).catch(() => {});
    }
  };
  for (const kind of ["keydown", "pointerdown", "input", "scroll"]) addEventListener(kind, touched, { passive: true });
}
