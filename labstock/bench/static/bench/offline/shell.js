// The page that stands in when there is no signal. It draws what one person keeps on this device, takes entries, and
// shows what waits. The page itself is the same for everybody.
(() => {
  const store = self.deviceStore;
  const find = (name, under = document) => under.querySelector(`[data-${name}]`);
  const slot = (name) => document.querySelector(`[data-slot="${name}"]`);
  const element = (tag, text, css) => Object.assign(document.createElement(tag), { textContent: text || "", className: css || "" });
  const form = find("entry");
  const { prefix, undoSeconds } = document.documentElement.dataset;
  const UNITS = ["mL", "g", "mg", "µL", "L", "kg", "piece"];

  // ISO 7064, MOD 37,36, as on the labels: one wrong character or two swapped ones do not pass.
  const ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  const checkCharacter = (text) => {
    let product = 36;
    for (const character of text) product = (((product + ALPHABET.indexOf(character)) % 36 || 36) * 2) % 37;
    return ALPHABET[(37 - product) % 36];
  };
  const readCode = (typed) => {
    const address = /\/[CS]\/([^/?#]+)/i.exec(typed);
    const code = (address ? decodeURIComponent(address[1]) : typed).toUpperCase().replace(/[\s\u00a0\u2010-\u2015._·-]/g, "");
    if (!code) throw new Error(`Give the code on the label, such as ${prefix} 4817 K.`);
    if (!new RegExp(`^${prefix}[0-9]{4,8}[0-9A-Z]$`).test(code)) throw new Error(`“${typed.trim()}” is not written like a code of this lab: ${prefix}, the number, and the last character. Compare it with the label.`);
    if (checkCharacter(code.slice(0, -1)) !== code.slice(-1)) throw new Error(`“${typed.trim()}” does not hold together: the last character does not fit the number. Compare it with the label and type it again.`);
    return code;
  };
  const capital = (name) => name.slice(0, 1).toUpperCase() + name.slice(1);
  const shown = (code) => `${code.slice(0, 2)}\u00a0${code.slice(2, -1)}\u00a0${code.slice(-1)}`;

  const time = (iso) => new Date(iso).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const ago = (iso) => {
    const minutes = Math.max(0, Math.round((Date.now() - Date.parse(iso)) / 60_000));
    return minutes < 1 ? "just now" : minutes < 90 ? `${minutes} min ago` : `${Math.round(minutes / 60)} h ago`;
  };

  const answer = (sign, word, why) => {
    const box = element("div", "", "answer");
    box.append(document.querySelector(`[data-sign="${sign}"]`).content.cloneNode(true));
    const words = document.createElement("div");
    const list = element("ul", "", "answer__why");
    for (const line of why) list.append(element("li", line));
    words.append(element("p", word, "answer__word"), list);
    box.append(words);
    return box;
  };
  const note = (text, ...more) => {
    const line = element("p", text, "note");
    line.setAttribute("role", "status");
    line.append(...more);
    find("notes").append(line);
    return line;
  };
  const link = (href, text) => Object.assign(element("a", text, "btn"), { href });

  const pick = (name, row, isChosen) => {
    const label = element("label", "", "pick");
    const radio = Object.assign(document.createElement("input"), { type: "radio", name, value: row.code, checked: isChosen });
    label.append(radio, element("span", row.name, "pick__face"));
    return label;
  };

  const act = () => form.elements.act.value;
  let bottle = null;
  let kept = null;

  const running = () => bottle?.holds.find((hold) => Date.parse(hold.starts_at) <= Date.now() && Date.now() < Date.parse(hold.ends_at));

  // Devices as the book would offer them for this bottle; a bottle that is not kept gets the whole list.
  const offerDevices = () => {
    const rows = !bottle ? [] : act() === "weigh" ? bottle.balances : bottle.devices;
    find("devices").replaceChildren(...rows.map((row, index) => pick("device", row, index === 0)));
    find("all-devices").hidden = rows.length > 0;
  };

  const ask = () => {
    const isMass = act() === "weigh";
    find("ask").textContent = isMass ? "What does it weigh, cap on?" : "How much did you take?";
    const units = isMass ? ["g"] : bottle?.units || UNITS;
    const before = form.elements.unit.value;
    form.elements.unit.replaceChildren(...units.map((unit) => element("option", unit)));
    if (units.includes(before)) form.elements.unit.value = before;
    find("taps").hidden = isMass || !bottle;
    find("ways").hidden = Boolean(bottle && !bottle.balances.length);
    find("otherwise").hidden = isMass;
    offerDevices();
    say();
  };

  const say = () => {
    const button = find("word", form);
    const amount = form.elements.amount.value.trim();
    button.textContent = amount ? `${button.dataset.word} ${amount}${/[0-9]$/.test(amount) ? `\u00a0${form.elements.unit.value}` : ""}` : button.dataset.word;
  };

  const drawBottle = (code) => {
    bottle = kept?.containers[code] || null;
    find("bottle").hidden = false;
    find("day").hidden = true;
    find("ask-code").hidden = true;
    form.elements.code.value = code;
    slot("shown").replaceChildren(shown(code).slice(0, -1), element("b", code.slice(-1)));
    slot("name").textContent = bottle ? capital(bottle.name) : "Not kept on this device";
    document.title = `${slot("name").textContent} ${code} · no signal`;
    slot("place").textContent = bottle ? bottle.place : "";
    if (!bottle) {
      slot("answer").replaceChildren(answer("ask", "No signal, and its amount is not known here", ["You can still record: it is checked against the book when there is signal.", "What is in it and its hazards stand on the label: read them there."]));
      return;
    }
    slot("drawn").innerHTML = bottle.drawn;   // drawn by our server, kept as it came
    const why = [`by the book at ${time(kept.kept_at)}, ${ago(kept.kept_at)}; what others did since is not known here`];
    if (bottle.held_by_others) why.push(`${bottle.held_by_others} of it held by others`);
    for (const hold of bottle.holds) why.push(`${hold.amount} held for you: ${hold.session}${hold.batch_number ? `, batch ${hold.batch_number}` : ""}`);
    const hazards = [bottle.signal_word && `${bottle.signal_word}:`, bottle.hazards.join("; ")].filter(Boolean).join(" ");
    why.push(hazards || "No hazards on record here: read the label");
    slot("answer").replaceChildren(answer(bottle.state ? "stop" : "limit", bottle.state ? `It was ${bottle.state}` : `${bottle.left} in it, as last known`, why));
    find("taps").replaceChildren(...[...bottle.taps.map((tap) => [tap, tap]), [bottle.everything, "all"]].map(([tap, word]) => {
      const button = Object.assign(element("button", word, "btn"), { type: "button" });
      button.dataset.tap = tap;
      return button;
    }));
    const hold = running();
    if (hold && !form.elements.amount.value) form.elements.amount.value = hold.number;
    find("for").textContent = hold ? `for your session${hold.batch_number ? `, batch ${hold.batch_number}` : ""}` : "";
  };

  const drawDay = () => {
    find("day").hidden = false;
    slot("day").textContent = kept ? `${kept.person.name}, as known at ${time(kept.kept_at)}` : "Nothing of anybody is kept on this device";
  };

  const row = (code) => {
    const one = kept.containers[code];
    const line = document.createElement("li");
    const name = document.createElement("span");
    name.append(Object.assign(element("a", one.name), { href: `/C/${code}` }), element("span", ` ${one.shown}, ${one.place}`, "quiet"));
    line.append(element("span"), name, element("span", one.left, "num"));
    return line;
  };
  const drawKept = () => {
    if (!kept) return;
    slot("known").textContent = `As known at ${time(kept.kept_at)}`;
    const held = new Set();
    const sessions = kept.sessions.map((session) => {
      const line = element("li", "", "session session--mine");
      const list = element("ul", "", "holds");
      for (const code of session.codes.filter((one) => kept.containers[one])) { held.add(code); list.append(row(code)); }
      line.append(element("p", session.when, "session__time"), element("h3", session.title, "session__what"), element("p", session.place, "session__who"), list);
      return line;
    });
    find("rows", find("sessions")).replaceChildren(...(sessions.length ? sessions : [element("li", "No session of yours today.")]));
    find("sessions").hidden = false;
    const others = Object.keys(kept.containers).filter((code) => !held.has(code));
    find("others").hidden = !others.length;
    find("rows", find("others")).replaceChildren(...others.map(row));
  };

  const WORDS = { use: "Used", weigh: "Gross mass" };
  const actWord = (name) => WORDS[name] || form.querySelector(`[name=what][value="${name}"]`)?.textContent || name;
  const waits = (entry) => {
    const line = element("li", "", "row");
    const isMine = entry.person === (kept?.person.pk ?? null);
    const words = document.createElement("div");
    const what = `${actWord(entry.told.act)} ${entry.told.amount}${/[0-9]$/.test(entry.told.amount) && entry.told.unit ? `\u00a0${entry.told.unit}` : ""}`;
    words.append(element("p", isMine ? entry.name || "Not kept here" : `Of ${entry.person_name || "nobody who was signed in"}`, "row__name"));
    words.append(element("p", isMine ? `${shown(entry.code)} · ${what} · done at ${time(entry.done_at)} by this device’s clock` : "Shown to whoever typed it."));
    if (entry.trouble) words.append(element("p", entry.trouble));
    const acts = element("div", "", "row__do");
    if (isMine && Date.now() - Date.parse(entry.done_at) < undoSeconds * 1000 && !entry.tried) {
      const undo = Object.assign(element("button", "Undo", "btn"), { type: "button" });
      undo.addEventListener("click", async () => { await store.remove(entry.n); await drawQueue(); });
      acts.append(undo);
    }
    const mark = element("div", "", "row__mark");
    mark.append(document.querySelector('[data-sign="wait"]').content.cloneNode(true));
    mark.firstElementChild.setAttribute("class", "sign");
    line.append(mark, words, acts);
    return line;
  };
  const drawQueue = async () => {
    const rows = await store.queue();
    find("none").hidden = rows.length > 0;
    document.getElementById("h-queue").textContent = `Waiting on this device: ${rows.length}`;
    find("rows", find("queue")).replaceChildren(...rows.map(waits));
  };

  const wrong = (text) => {
    const box = find("wrong");
    box.className = text ? "record__all refusal" : "record__all";
    box.replaceChildren(...(text ? [element("span"), element("p", text)] : []));
  };

  const told = (what) => {
    const fields = form.elements;
    const amount = fields.amount.value.trim();
    if (!amount) throw new Error(act() === "weigh" ? "Give the mass, such as 280.94." : `Give one number: how much, such as 5.0 ${fields.unit.value}.`);
    if (!/[0-9]/.test(amount)) throw new Error(`“${amount}” is no amount: give a number, such as 5.0 ${fields.unit.value}.`);
    if (what) return { act: what, amount, unit: fields.unit.value, device: "", reason: "", batch: null };
    const device = form.querySelector("[name=device]:checked")?.value || fields.device_all.value;
    if (!device) throw new Error("Choose what you measured with: it decides how sure the rest is.");
    const hold = act() === "use" ? running() : null;
    return { act: act(), amount, unit: fields.unit.value, device, reason: "", batch: hold?.batch ?? null };
  };

  const keepEntry = async (event) => {
    event.preventDefault();
    try {
      const code = readCode(form.elements.code.value);
      // a scanner ends with Enter: the code alone opens what is kept of the bottle
      if (!find("day").hidden && !form.elements.amount.value.trim()) { location.assign(`/C/${code}`); return; }
      const said = told(event.submitter?.value);
      const name = kept?.containers[code]?.name || "";
      await store.add(await store.entry(code, said, form.elements.key.value, name));
      wrong("");
      self.drafts.drop(form);
      form.elements.key.value = crypto.randomUUID();
      form.elements.amount.value = "";
      find("notes").replaceChildren();
      const line = note(`Kept on this device: ${actWord(said.act)} ${said.amount}${/[0-9]$/.test(said.amount) ? `\u00a0${said.unit}` : ""}${name ? `, ${name}` : ""}. It is not in the book yet.`);
      line.dataset.unsent = "";
      form.querySelector("[name=act][value=use]").checked = true;
      ask();
      await drawQueue();
      scrollTo(0, 0);
      await go();
    } catch (error) { wrong(error.message); find("wrong").scrollIntoView({ block: "nearest" }); }
  };

  const go = async () => {
    const outcome = await self.sending.go();
    await drawQueue();
    if (outcome?.state === "sent") find("notes").querySelectorAll("[data-unsent]").forEach((line) => line.remove());
    if (navigator.onLine && outcome?.state !== "no network" && outcome?.state !== "nothing") back();
    return outcome;
  };

  let isBack = false;
  const back = () => {
    if (isBack) return;
    isBack = true;
    note("There is signal again. ", link(location.pathname.startsWith("/offline/") ? "/" : location.pathname, "Open the live page"));
  };

  const start = async () => {
    kept = await store.snapshot();
    self.sending.at.person = kept ? String(kept.person.pk) : "";
    find("who").textContent = kept ? kept.person.name : "nobody signed in";
    const query = new URLSearchParams(location.search);
    if (query.has("kept")) note("Kept on this device: it goes out when there is signal. It is not in the book yet.").dataset.unsent = "";
    if (query.has("not-sent")) note("No signal: that was not sent. What you typed is kept as a draft on its page.");
    if (query.has("ended")) note("No signal, so nobody could be signed in or out at the server. What was kept of the last person is wiped from this device.");
    form.elements.key.value = crypto.randomUUID();
    const address = /^\/[CS]\/([^/]+)/.exec(location.pathname);
    const scanned = address ? decodeURIComponent(address[1]) : query.get("code");
    let known = null;
    if (scanned) try { known = readCode(scanned); } catch (error) { wrong(error.message); form.elements.code.value = scanned; }
    if (known) drawBottle(known); else drawDay();
    if (!kept) note(`Nobody is signed in on this device. You can still record; whoever sends it later says that they did it.`);
    drawKept();
    form.hidden = Boolean(kept && !kept.person.may_draw);
    if (form.hidden) note("Your role may look, not record.");
    form.addEventListener("change", (event) => { if (event.target.name === "act") ask(); else say(); });
    form.addEventListener("input", say);
    form.addEventListener("submit", keepEntry);
    if (known === null) form.elements.code.focus();
    ask();
    await self.drafts.begin(form);
    await drawQueue();
    addEventListener("online", () => go());
    await go();
    if (navigator.onLine) fetch(`${self.sending.at.kept}?idle`, { redirect: "manual", cache: "no-store" }).then(back, () => {});
    // on a shared tablet what is kept goes when nobody has touched it for a while
    if (kept?.locks_after_s) {
      let timer = 0;
      const touched = () => { clearTimeout(timer); store.put("touched", Date.now()); timer = setTimeout(async () => { await store.forget(); location.reload(); }, kept.locks_after_s * 1000); };
      for (const kind of ["keydown", "pointerdown", "input"]) addEventListener(kind, touched, { passive: true });
      touched();
    }
  };
  start().catch(() => note("This browser keeps nothing on the device, so nothing can be recorded without signal. Write it on paper."));
})();
