// Entries of the log that wait on this device until the book has them. Each carries its mark, so an
// entry that is sent twice is one in the book; it leaves the device only when the book says so.

const STORE = 'waiting';

function open() {
  return new Promise((done, fail) => {
    const asked = indexedDB.open('spadework-log', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: 'mark' });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => fail(asked.error);
  });
}

// Runs work on the store and is done when it is on the disk.
async function within(mode, work) {
  const db = await open();
  try {
    return await new Promise((done, fail) => {
      const step = db.transaction(STORE, mode, { durability: 'strict' });
      const asked = work(step.objectStore(STORE));
      step.oncomplete = () => done(asked?.result);
      step.onabort = () => fail(step.error);
      step.onerror = () => fail(step.error);
    });
  } finally {
    db.close();
  }
}

export const keep = (entry) => within('readwrite', (store) => store.put(entry));
export const drop = (mark) => within('readwrite', (store) => store.delete(mark));
export const all = async () =>
  (await within('readonly', (store) => store.getAll())).sort((a, b) => a.at - b.at);

// Sends what waits, oldest first, until the signal ends. Gives how many the book took; `asked` is called
// where the computer wants the password first.
export async function send(asked = () => {}) {
  let taken = 0;
  for (const entry of await all()) {
    if (entry.refused) continue;
    const body = new URLSearchParams([...entry.fields, ['answer', 'short']]);
    let answer;
    try {
      answer = await fetch('/log', { method: 'POST', body });
    } catch {
      break; // no signal: the rest would fail as well
    }
    const says = await answer.text().catch(() => '');
    if (answer.ok && says.startsWith('kept')) {
      await drop(entry.mark);
      taken += 1;
    } else if (answer.status === 422) {
      await keep({ ...entry, refused: says });
    } else {
      if (answer.status === 401) asked();
      break; // the computer is there and cannot answer now
    }
  }
  return taken;
}
