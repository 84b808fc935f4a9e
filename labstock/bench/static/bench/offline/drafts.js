// What is typed into a form that records something is kept on this device at every field, with the form's own key: after
// a power cut it is there again, and pressing again cannot make two entries. Each person sees their own drafts only.
(() => {
  const at = document.currentScript.dataset;
  const person = () => self.sending.at.person || "";
  // the page for no signal begins its own form when it knows who is there
  const forms = [...document.querySelectorAll("main form:not([data-entry])")].filter((form) => form.querySelector("input[type=hidden][name=key]"));
  const NEVER = new Set(["csrfmiddlewaretoken", "seen_seq", "key"]);
  const name = (form) => `draft:${person()}:${new URL(form.getAttribute("action") || location.href, location.href).pathname}`;

  // Written twice: at once into one drawer, and into the one that waits for the disk, for the day the power goes.
  const newest = new Map();
  const aside = (act) => Promise.resolve(self.deviceStore ? act(self.deviceStore) : null).catch(() => null);
  let written = Promise.resolve();
  const write = (form, draft) => {
    newest.set(form, draft);
    try { localStorage.setItem(name(form), JSON.stringify(draft)); } catch { /* full, or a private window */ }
    written = aside((store) => store.put(name(form), draft));
  };
  const drop = (form) => {
    newest.delete(form);
    try { localStorage.removeItem(name(form)); } catch { /* as above */ }
    written = aside((store) => store.drop(name(form)));
  };
  const read = async (form) => {
    let quick = null;
    try { quick = JSON.parse(localStorage.getItem(name(form))); } catch { /* as above */ }
    const sure = await aside((store) => store.get(name(form)));
    const draft = (sure?.at || 0) > (quick?.at || 0) ? sure : quick;
    if (draft) newest.set(form, draft);
    return draft;
  };

  const fields = (form) => [...form.elements].filter((field) => field.name && !NEVER.has(field.name) && !["file", "password", "submit", "button"].includes(field.type) && field.tagName !== "FIELDSET");
  const value = (field) => (["radio", "checkbox"].includes(field.type) ? field.checked : field.value);

  const save = (form) => {
    const typed = {};
    for (const field of fields(form)) {
      if (field.type === "hidden") continue;
      const it = value(field);
      if (field.type === "radio") { if (it) typed[field.name] = field.value; }
      else if (field.type === "checkbox") (typed[field.name] ||= []).push(...(it ? [field.value] : []));
      else typed[field.name] = it;
    }
    write(form, { at: Date.now(), page: location.pathname, key: form.elements.key.value, typed });
  };

  const offers = (form, name, choice) => fields(form).some((field) => field.name === name && field.value === choice);

  const restore = (form, draft) => {
    for (const field of fields(form)) {
      if (!(field.name in draft.typed) || field.type === "hidden") continue;
      const was = draft.typed[field.name];
      if (field.type === "radio") field.checked = field.value === was || (field.checked && !offers(form, field.name, was));
      else if (field.type === "checkbox") field.checked = was.includes(field.value);
      else field.value = was;
    }
    // a device that this page does not offer at the top stands in the long list
    const all = form.elements.other_device;
    if (all && draft.typed.device && !draft.typed.other_device && ![...form.querySelectorAll("[name=device]")].some((field) => field.value === draft.typed.device)) all.value = draft.typed.device;
    form.dataset.ownKey ||= form.elements.key.value;
    form.elements.key.value = draft.key;
    form.dispatchEvent(new Event("input", { bubbles: true }));
  };

  const clock = (moment) => {
    const then = new Date(moment);
    const time = then.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    return then.toDateString() === new Date().toDateString() ? time : `${then.toLocaleDateString("en-GB", { day: "numeric", month: "short" })} ${time}`;
  };

  const say = (form, draft, isKnown) => {
    const line = document.createElement("p");
    line.className = "note acts record__all";
    line.dataset.draft = "";
    line.textContent = `Kept from ${clock(draft.at)}, ${isKnown ? "not recorded yet" : "not known whether it was recorded; pressing again makes no second entry"}. `;
    const clear = document.createElement("button");
    clear.type = "button";
    clear.className = "btn";
    clear.textContent = "Clear it";
    clear.addEventListener("click", () => { drop(form); form.reset(); form.elements.key.value = form.dataset.ownKey; line.remove(); form.dispatchEvent(new Event("input", { bubbles: true })); drop(form); });
    line.append(clear);
    form.prepend(line);
  };

  const isRecorded = async (form, key) => {
    const waiting = self.deviceStore ? await self.deviceStore.queue().catch(() => []) : [];
    if (waiting.some((row) => row.key === key)) return true;
    if (form.matches("[data-entry]")) return false;   // it records through the queue only
    if (!person()) return null;
    try { return (await (await fetch(`${at.recorded}?idle&key=${key}`, { redirect: "manual" })).json()).is_recorded; } catch { return null; }
  };

  // Fields that the page shows only when asked for: the draft asks, and nothing is written by asking.
  const askForMore = (form, draft) => {
    const there = new Set(fields(form).map((field) => field.name));
    const more = form.querySelector("button[name=more]");
    if (!more || !Object.entries(draft.typed).some(([field, was]) => was && !there.has(field))) return false;
    write(form, { ...draft, resumed: true });
    form.requestSubmit(more);
    return true;
  };

  const resume = async (form, draft) => {
    const done = await isRecorded(form, draft.key);
    if (done) { drop(form); return; }
    restore(form, draft);
    if (!askForMore(form, draft)) say(form, draft, done === false);
  };

  // Refused, or asked for more fields: the page has what was typed, and the draft has what the page did not ask for before.
  const cameBack = (form, draft) => {
    const { sent, resumed, ...rest } = draft;
    write(form, rest);
    if (!resumed) return;
    restore(form, rest);
    say(form, rest, true);
  };

  const begin = async (form) => {
    const draft = await read(form);
    if (draft && form.elements.key.value === draft.key) cameBack(form, draft);
    else if (draft) await resume(form, draft);
    form.addEventListener("input", (event) => { if (event.target !== form) save(form); });
    form.addEventListener("change", () => save(form));
    form.addEventListener("submit", () => write(form, { at: Date.now(), key: form.elements.key.value, page: location.pathname, typed: {}, ...newest.get(form), sent: true }));
  };

  // The page that says so after a success: what was sent from the page before it is recorded. A word of success after a
  // log-in or a change of person is about something else.
  const clear = async () => {
    const before = document.referrer && new URL(document.referrer).pathname;
    if (!document.querySelector(".said .done")) return;
    for (const key of Object.keys(localStorage).filter((one) => one.startsWith(`draft:${person()}:`))) {
      const draft = JSON.parse(localStorage.getItem(key));
      if (!draft.sent || draft.page !== before) continue;
      localStorage.removeItem(key);
      await aside((store) => store.drop(key));
    }
  };
  clear().catch(() => {}).then(() => Promise.all(forms.map(begin))).catch(() => {});
  self.drafts = { begin, drop, written: () => written };
})();
