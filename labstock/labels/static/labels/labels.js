// Many labels take a while: the page says which sheet is being drawn, then hands over the file. Without this script, and
// wherever something is refused, the form is sent in the plain way.
const work = document.querySelector("[data-labels-work]");
const form = document.getElementById("labels");
if (work && form && window.ReadableStream) {
  const FEW = 100;       // fewer are there before anybody could read a number
  const line = work.querySelector("[data-line]");
  const bar = work.querySelector("progress");
  const link = work.querySelector("a");
  let isPlain = false;

  const chosen = () => form.querySelectorAll("[name=codes]:checked").length + form.elements.typed.value.split(/[\n,;]/).filter((code) => code.trim()).length;

  const sendPlainly = (button) => {
    isPlain = true;
    work.hidden = true;
    button.formTarget = "";
    delete form.dataset.sent;
    form.requestSubmit(button);
  };

  const tell = (told) => {
    const [page, pages] = told.split(" ").map(Number);
    bar.max = pages;
    bar.value = page;
    line.textContent = `Page ${page} of ${pages} is drawn.`;
  };

  // Reads lines until the one that says that the rest is the file; null where there is none.
  const receive = async (answer) => {
    const reader = answer.body.getReader();
    let held = new Uint8Array();
    for (;;) {
      for (let end = held.indexOf(10); end >= 0; end = held.indexOf(10)) {
        const told = new TextDecoder().decode(held.subarray(0, end));
        held = held.slice(end + 1);
        if (told === "no") return null;
        if (told === "file") return rest(reader, held);
        tell(told);
      }
      const { done, value } = await reader.read();
      if (done) return null;
      held = joined(held, value);
    }
  };

  const joined = (a, b) => {
    const both = new Uint8Array(a.length + b.length);
    both.set(a);
    both.set(b, a.length);
    return both;
  };

  const rest = async (reader, first) => {
    const parts = [first];
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return new Blob(parts, { type: "application/pdf" });
      parts.push(value);
    }
  };

  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (isPlain || !button?.formAction.endsWith("print.pdf") || chosen() <= FEW) return;
    event.preventDefault();
    const data = new FormData(form);
    const count = chosen();
    work.hidden = false;
    link.hidden = true;
    bar.removeAttribute("value");
    line.textContent = `${count} labels are being gathered…`;
    work.scrollIntoView({ block: "nearest" });
    let file = null;
    try {
      const answer = await fetch(button.formAction, { method: "POST", body: data, headers: { "Tell-Pages": "yes" } });
      if (answer.ok && !answer.redirected) file = await receive(answer);
    } catch { /* the plain way says what is wrong */ }
    if (!file) { sendPlainly(button); return; }
    line.textContent = `All ${bar.max} pages are drawn.`;
    link.href = URL.createObjectURL(file);
    link.download = `labels-${count}.pdf`;
    link.textContent = `Save labels-${count}.pdf again`;
    link.hidden = false;
    link.click();
  });
}
