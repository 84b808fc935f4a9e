// Reads words out with the device's own voice. Where the browser has none, its switches stay hidden and nothing is missed:
// all of it stands on the screen. A page that wants something said sends the event "say" with the words.
(() => {
  const voice = window.speechSynthesis;
  const KEPT = "read aloud";
  const UNITS = { "mL": "millilitres", "µL": "microlitres", "L": "litres", "g": "grams", "mg": "milligrams", "kg": "kilograms" };

  // "53.0 ± 2.4 mL left" is said as words; a code is spelled out.
  const asSpoken = (text) => text
    .replace(/[\u00a0\u202f\s]+/g, " ")
    .replace(/\b([A-Z]{2}) (\d{4,8}) ([0-9A-Z])\b/g, (code) => [...code.replaceAll(" ", "")].join(" "))
    .replace(/ ± /g, " plus or minus ")
    .replace(/\u2212/g, "minus ")
    .replace(/(\d) (mL|µL|L|g|mg|kg)\b/g, (_, digit, unit) => `${digit} ${UNITS[unit]}`)
    .trim();

  const isOn = () => Boolean(voice) && localStorage.getItem(KEPT) !== "no";

  const say = (text) => {
    if (!voice || !text.trim()) return;
    voice.cancel();      // the newest word counts
    const words = new SpeechSynthesisUtterance(asSpoken(text));
    words.lang = document.documentElement.lang || "en-GB";
    words.rate = 0.95;
    voice.speak(words);
  };

  if (voice) {
    document.querySelectorAll("[data-speech]").forEach((part) => { part.hidden = false; });
    document.querySelectorAll("[data-aloud]").forEach((button) => {
      const show = () => {
        button.setAttribute("aria-pressed", String(isOn()));
        button.textContent = isOn() ? "Read aloud: on" : "Read aloud: off";
      };
      button.addEventListener("click", () => {
        localStorage.setItem(KEPT, isOn() ? "no" : "yes");
        if (!isOn()) voice.cancel();
        show();
      });
      show();
    });
    document.querySelectorAll("[data-say-name]").forEach((button) => {
      button.addEventListener("click", () => say(button.dataset.sayName));
    });
  }

  document.addEventListener("say", (event) => { if (isOn()) say(event.detail); });
})();
