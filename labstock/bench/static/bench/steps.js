// Each scan is sent without leaving the page, so that the voice may speak; without this file each scan opens the page anew
// and says the same in large words.
(() => {
  const speakOut = (words) => { document.dispatchEvent(new CustomEvent("say", { detail: words })); };
  const screen = () => document.querySelector("[data-hands-free]");
  const field = () => screen().querySelector("input[name=code]");
  let over = 0;

  const speak = () => {
    const words = [...screen().querySelectorAll("[data-say]")].map((part) => part.innerText);
    speakOut(words.join(". "));
  };

  const startAnew = () => {
    clearTimeout(over);
    const { seconds, start } = screen().dataset;
    if (seconds) over = setTimeout(() => location.assign(start), (Number(seconds) + 1) * 1000);
  };

  const show = (page) => {
    const next = document.importNode(page.querySelector("[data-hands-free]"), true);
    const typing = field();      // the scanner may be in the middle of the next code
    screen().replaceWith(next);
    field().replaceWith(typing);
    typing.focus();
    speak();
    startAnew();
  };

  const send = async (address, body) => {
    const answer = await fetch(address, { method: "POST", body });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const isHere = answer.ok && new URL(answer.url).pathname === location.pathname && page.querySelector("[data-hands-free]");
    if (isHere) show(page); else location.assign(answer.url);
  };

  const cannotSend = () => {
    const words = "No connection. Wait: when the signal is back, this screen says what was recorded.";
    const box = document.createElement("div");
    box.className = "free__said free__said--no";
    box.setAttribute("role", "alert");
    box.textContent = words;
    screen().prepend(box);
    speakOut(words);
    const retry = setInterval(async () => {
      const answer = await fetch(location.pathname).catch(() => null);
      if (!answer?.ok) return;
      clearInterval(retry);
      show(new DOMParser().parseFromString(await answer.text(), "text/html"));
    }, 3000);
  };

  if (screen()) {
    // one scan after the other, in the order they came
    let queue = Promise.resolve();
    document.addEventListener("submit", (event) => {
      const form = event.target;
      if (!form.matches(".free__form")) return;
      event.preventDefault();
      const body = new FormData(form);
      field().value = "";
      queue = queue.then(() => send(form.action, body)).catch(cannotSend);
    }, true);
    speak();
    startAnew();
  }
})();
