// What was entered where there is no signal: kept on the device in the order it was entered, and sent when
// the computer can be reached. A page hands in an address and its fields; the same key replaces what waits
// under it. Whatever is sent must do no harm when it arrives twice.

const AGAIN_MS = 15_000;

/** A queue under a name; `changed(waiting, refused)` is called whenever it changed. */
export function queue(name, changed) {
  const read = () => {
    try {
      const kept = JSON.parse(localStorage.getItem(name) ?? "[]");
      return Array.isArray(kept) ? kept : [];
    } catch {
      return [];
    }
  };
  const write = (all) => localStorage.setItem(name, JSON.stringify(all));
  let sending = null;
  let refused = "";

  async function one(entry) {
    const answer = await fetch(entry.to, { method: "POST", body: new URLSearchParams(entry.fields) });
    if (answer.status === 401) {
      changed(read(), "What was entered is kept on this phone. Open the page again and sign in; then it is sent.");
      throw new Error("not signed in");
    }
    // A computer that fails is asked again; one that says no is not.
    if (answer.status >= 500) throw new Error(`${answer.status}`);
    if (!answer.ok) refused = `The computer did not take one entry (${answer.status}); look at the page there.`;
  }

  async function sendAll() {
    for (let all = read(); all.length > 0; all = read()) {
      try {
        await one(all[0]);
      } catch {
        return;
      }
      // What was entered meanwhile under the same key has another mark, and stays.
      write(read().filter((e) => e.mark !== all[0].mark));
      changed(read(), refused);
    }
  }

  const send = () => (sending ??= sendAll().finally(() => (sending = null)));
  const add = (key, to, fields) => {
    const mark = `${Date.now()}-${Math.random()}`;
    const head = read();
    const at = head.findIndex((e) => e.key === key);
    // The first one may be on its way already.
    const kept = at > 0 || (at === 0 && !sending) ? head.filter((_, i) => i !== at) : head;
    write([...kept, { key, to, fields, mark }]);
    changed(read(), refused);
    return send();
  };

  addEventListener("online", send);
  addEventListener("pageshow", send);
  document.addEventListener("visibilitychange", () => document.hidden || send());
  setInterval(() => read().length > 0 && send(), AGAIN_MS);
  changed(read(), refused);
  send();
  return { add, all: read };
}
