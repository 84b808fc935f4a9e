// On every page: register the worker, keep what one person needs without signal, send what waits on this device.
self.sending = (() => {
  const at = document.currentScript.dataset;      // the addresses, and who is signed in on this page
  const FRESH_MS = 120_000;
  const AT_ONCE = 50;
  const store = self.deviceStore;
  const here = () => Number(at.person) || null;

  const get = (url) => fetch(url, { redirect: "manual", cache: "no-store" });

  // Who is signed in, what the time is there, what to keep. Null: no network. {}: nobody is signed in.
  const hello = async () => {
    if (!navigator.onLine) return null;
    const opened = (await store.get("opened")) || [];
    const before = Date.now();
    let answer;
    try { answer = await get(`${at.kept}?idle&also=${opened.map(encodeURIComponent).join(",")}`); } catch { return null; }
    const after = Date.now();
    if (answer.type === "opaqueredirect" || !answer.ok) return answer.status >= 500 ? null : {};
    const kept = await answer.json();
    const error = Math.round((before + after) / 2 - Date.parse(kept.now));
    await store.put("clock", error);
    kept.kept_at = new Date(after).toISOString();
    kept.device_until = new Date(Date.parse(kept.until) + error).toISOString();
    return kept;
  };

  // Only while the worker is in charge: it is what wipes when somebody signs out.
  const keep = async (kept) => {
    if (!navigator.serviceWorker?.controller || !kept?.person) return;
    if (here() !== null && kept.person.pk !== here()) return;
    const { csrf, ...rest } = kept;
    await store.put("snapshot", rest);
    await store.put("touched", Date.now());
  };

  const refresh = async () => {
    const before = await store.snapshot();
    if (before && before.person.pk !== here()) await store.forget();
    const code = /^\/C\/([^/]+)/.exec(location.pathname)?.[1];
    if (code && here()) await store.put("opened", [code, ...((await store.get("opened")) || []).filter((one) => one !== code)].slice(0, 20));
    const isFresh = before && before.person.pk === here() && Date.now() - Date.parse(before.kept_at) < FRESH_MS && (!code || before.containers[code]);
    if (!isFresh && here()) await keep(await hello());
    if (before) await store.put("touched", Date.now());
  };

  const isOf = (row, kept, others) => row.person === kept.person.pk || others;

  const post = (kept, rows) => fetch(at.send, {
    method: "POST",
    redirect: "manual",
    headers: { "Content-Type": "application/json", "X-CSRFToken": kept.csrf },
    body: JSON.stringify({ device_at: new Date().toISOString(), entries: rows.map(({ n, trouble, tried, ...row }) => ({ ...row, number: n })) }),
  });

  // In order of doing, each removed only when the server has said what became of it.
  const send = async (others) => {
    const kept = await hello();
    if (!kept) return { state: "no network" };
    if (!kept.person) return { state: "sign in" };
    await keep(kept);
    if (!kept.person.may_draw) return { state: "may not", kept };
    const rows = (await store.queue()).filter((row) => isOf(row, kept, others)).slice(0, AT_ONCE);
    if (!rows.length) return { state: "nothing", kept };
    let answer;
    for (const row of rows) await store.change({ ...row, tried: true });   // from now on the server may have it
    try { answer = await post(kept, rows); } catch { return { state: "no network", kept }; }
    if (answer.type === "opaqueredirect" || answer.status === 403) return { state: "sign in" };
    if (!answer.ok) return { state: "trouble", said: await answer.json().then((body) => body.said, () => "") };
    const { results, open } = await answer.json();
    for (const result of results) {
      const row = rows.find((one) => one.key === result.key);
      if (row && result.state === "unread") await store.change({ ...row, trouble: result.said });
      else if (row) await store.remove(row.n);
    }
    return { state: "sent", results, open, kept };
  };

  // One tab at a time; the server would see through a second one, but it need not come to that.
  const once = (others = false) => (navigator.locks
    ? navigator.locks.request("no-signal-sending", () => send(others))
    : send(others));

  const plural = (n, one, many) => `${n} ${n === 1 ? one : many}`;
  const element = (tag, text, css) => Object.assign(document.createElement(tag), { textContent: text, className: css || "" });
  const link = (href, text) => Object.assign(element("a", text, "btn"), { href });
  const press = (text, act) => {
    const button = element("button", text, "btn");
    button.type = "button";
    button.addEventListener("click", act);
    return button;
  };

  // What became of what was sent from this page stays said until the page is left.
  const told = { done: [], not: 0 };
  const count = (outcome) => {
    for (const row of outcome.results || []) {
      if (row.state === "recorded") told.done.push(`${row.at}: ${row.said}`);
      if (row.state === "difference") told.not += 1;
    }
  };
  const said = () => [
    ...(told.done.length ? [`${plural(told.done.length, "entry", "entries")} from this device recorded.`, ...told.done] : []),
    ...(told.not ? [`${plural(told.not, "entry is", "entries are")} not in the book: a difference to settle.`] : []),
  ];

  const ofOthers = (theirs, box) => {
    const named = theirs.filter((row) => row.person !== null);
    const names = [...new Set(named.map((row) => row.person_name))].join(", ");
    const nobody = theirs.length - named.length;
    if (names) box.append(element("p", `${plural(named.length, "entry is", "entries are")} of ${names}. If you send them, they are recorded by you for ${names}.`));
    if (nobody) box.append(element("p", `${plural(nobody, "entry was", "entries were")} typed while nobody was signed in. Send them only if you did it.`));
    return names ? `Send for ${names}` : "I did it: send";
  };

  const WHY = {
    "no network": "No signal now: they go out by themselves when it is back.",
    "may not": "Your role may not record: somebody who may signs in and sends them.",
    trouble: "The server did not take them: they stay here.",
  };

  // The line at the top of the page: what was sent, what waits, what to do.
  const tell = async (outcome) => {
    count(outcome);
    const rows = await store.queue();
    document.querySelector("[data-waiting]")?.remove();
    if (!rows.length && !said().length) return;
    const box = element("div", "", "note");
    box.dataset.waiting = rows.length;
    box.setAttribute("role", "status");
    for (const line of said()) box.append(element("p", line));
    const acts = element("p", "", "acts");
    if (told.not) acts.append(link(at.differences, "Settle it"));
    if (rows.length) {
      box.append(element("p", `Waiting on this device: ${rows.length}. ${outcome.said || WHY[outcome.state] || ""}`));
      for (const row of rows.filter((one) => one.trouble)) box.append(element("p", row.trouble));
      const theirs = rows.filter((row) => row.person !== here());
      if (!here() || outcome.state === "sign in") acts.append(link(`${at.login}?next=${encodeURIComponent(location.pathname)}`, "Sign in to send"));
      else if (outcome.state !== "no network") {
        if (theirs.length < rows.length) acts.append(press("Send now", () => go()));
        if (theirs.length) acts.append(press(ofOthers(theirs, box), () => go(true)));
      }
    }
    if (told.done.length) acts.append(link(location.pathname, "Open this page anew"));
    if (acts.childNodes.length) box.append(acts);
    (document.querySelector("[data-notes]") || document.getElementById("main")).prepend(box);
  };

  const go = async (others = false) => {
    const isWaiting = (await store.queue()).some((row) => others || row.person === here());
    const outcome = isWaiting && here() ? await once(others) : { state: "nothing" };
    await tell(outcome);
    if (outcome.state === "sent" && (await store.queue()).some((row) => row.person === here() && !row.trouble)) await go(others);
    return outcome;
  };

  const start = async () => {
    if (!("serviceWorker" in navigator) || !self.indexedDB) return;
    await navigator.serviceWorker.register(at.worker).catch(() => {});
    await refresh().catch(() => {});
    navigator.serviceWorker.addEventListener("controllerchange", () => refresh().catch(() => {}));
    addEventListener("online", () => go().catch(() => {}));
    await go();
  };

  if (at.person !== undefined) start().catch(() => {});
  return { at, go };
})();
