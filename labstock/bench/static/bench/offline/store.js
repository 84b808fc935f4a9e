// What this device keeps for when there is no signal. Two drawers: what one person may see, wiped when their turn ends;
// and the queue, never wiped, in which each entry remembers whose it is. The worker and the pages share this file.
self.deviceStore = (() => {
  const open = new Promise((done, failed) => {
    const asked = indexedDB.open("no-signal", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("kept");
      asked.result.createObjectStore("queue", { keyPath: "n", autoIncrement: true }).createIndex("key", "key", { unique: true });
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });

  const run = async (drawer, mode, what) => {
    const database = await open;
    return new Promise((done, failed) => {
      const turn = database.transaction(drawer, mode, { durability: "strict" });
      const asked = what(turn.objectStore(drawer));
      turn.oncomplete = () => done(asked?.result);
      turn.onerror = turn.onabort = () => failed(turn.error || new Error("not kept"));
    });
  };
  const get = (name) => run("kept", "readonly", (drawer) => drawer.get(name));
  const put = (name, value) => run("kept", "readwrite", (drawer) => drawer.put(value, name));
  const drop = (name) => run("kept", "readwrite", (drawer) => drawer.delete(name));

  const forget = () => run("kept", "readwrite", (drawer) => {
    for (const name of ["snapshot", "touched", "opened"]) drawer.delete(name);
  });

  // What is kept, if its time is not over; on a shared tablet that nobody touched for a while it is wiped first.
  const snapshot = async () => {
    const kept = await get("snapshot");
    if (!kept) return null;
    const untouched = Date.now() - ((await get("touched")) || Date.parse(kept.kept_at));
    const isOver = Date.now() > Date.parse(kept.device_until) || (kept.locks_after_s && untouched > kept.locks_after_s * 1000);
    if (!isOver) return kept;
    await forget();
    return null;
  };

  const queue = () => run("queue", "readonly", (drawer) => drawer.getAll());
  // An entry with a key that waits already is the same entry: kept once.
  const add = async (entry) => {
    if ((await queue()).some((row) => row.key === entry.key)) return;
    await run("queue", "readwrite", (drawer) => drawer.add(entry));
  };
  const change = (entry) => run("queue", "readwrite", (drawer) => drawer.put(entry));
  const remove = (n) => run("queue", "readwrite", (drawer) => drawer.delete(n));

  // A new entry of whoever is signed in on this device, with its own key and the time of doing by this device's clock.
  const entry = async (code, told, key, name) => {
    const kept = await snapshot();
    return {
      key: key || self.crypto.randomUUID(),
      code,
      name: name || kept?.containers[code]?.name || "",
      person: kept?.person.pk ?? null,
      person_name: kept?.person.name || "",
      told,
      done_at: new Date().toISOString(),
      offset_min: -new Date().getTimezoneOffset(),
      known_error_ms: (await get("clock")) ?? null,
    };
  };

  return { get, put, drop, forget, snapshot, queue, add, change, remove, entry };
})();
