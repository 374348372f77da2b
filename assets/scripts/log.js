// The Log pages on a phone: what is written down is kept on the device first and sent from there, so that
// nothing is lost when the signal goes. Without script the forms are sent as any other.
import { all, drop, keep, send } from './shared/waiting.js';

const place = document.querySelector('#waiting');
// What holds for the whole visit stands apart from what waits, which is drawn anew each time.
const notes = document.createElement('div');
place.after(notes);
const can = 'indexedDB' in window && 'serviceWorker' in navigator && window.isSecureContext;

function say(text, kind = 'said') {
  const line = document.createElement('p');
  line.className = kind;
  line.textContent = text;
  return line;
}

// A form that is shown again from the device has the mark of the last time: each showing gets its own.
function freshMark() {
  for (const field of document.querySelectorAll('form[data-keep] input[name=mark]')) {
    field.value = crypto.randomUUID();
  }
}

const words = (entry) => {
  const of = (key) => entry.fields.find(([k]) => k === key)?.[1] ?? '';
  return `${of('amount')} of ${of('material').replaceAll('_', ' ')} on ${of('block')}, ${of('day')}`;
};

async function show() {
  const entries = await all();
  const waiting = entries.filter((e) => !e.refused);
  const lines = [];
  if (waiting.length > 0) {
    const n = waiting.length === 1 ? '1 entry waits' : `${waiting.length} entries wait`;
    lines.push(say(`${n} on this device and will be sent when the signal is back: ${waiting.map(words).join('; ')}.`));
  }
  for (const entry of entries.filter((e) => e.refused)) {
    const line = say(`Not in the book: ${words(entry)}. ${entry.refused} `, 'wrong');
    const button = document.createElement('button');
    button.className = 'link';
    button.type = 'button';
    button.textContent = 'Throw it away';
    button.addEventListener('click', async () => {
      await drop(entry.mark);
      await show();
    });
    line.append(button);
    lines.push(line);
  }
  place.replaceChildren(...lines);
  return waiting.length;
}

// What waits stays here until the password was given again.
function askToSignIn() {
  const line = say('The farm’s computer wants the password again before it takes what waits here. ', 'wrong');
  const link = document.createElement('a');
  link.href = '/sign-in?to=/log';
  link.textContent = 'Come in';
  line.append(link);
  place.prepend(line);
}

async function sendAndShow() {
  let locked = false;
  const taken = await send(() => (locked = true));
  const left = await show();
  if (locked) askToSignIn();
  if (taken > 0 && left === 0) {
    place.append(say(taken === 1 ? 'The entry that waited is in the book.' : `${taken} entries that waited are in the book.`));
  }
}

async function submitted(event) {
  const form = event.target;
  event.preventDefault();
  const fields = [...new FormData(form, event.submitter)].map(([k, v]) => [k, String(v)]);
  const mark = fields.find(([k]) => k === 'mark')[1];
  const button = event.submitter ?? form.querySelector('button');
  button.disabled = true;
  try {
    await keep({ mark, fields, at: Date.now() });
  } catch {
    // No room on the device: as without script.
    button.disabled = false;
    form.submit();
    return;
  }
  let locked = false;
  await send(() => (locked = true));
  const mine = (await all()).find((e) => e.mark === mark);
  if (!mine) {
    location.assign('/log?done=kept');
  } else if (mine.refused) {
    // What is on the page can be mended and sent again.
    await drop(mark);
    place.replaceChildren(say(mine.refused, 'wrong'));
    place.scrollIntoView();
    freshMark();
    button.disabled = false;
  } else {
    await show();
    const kept = say('Kept on this device. ');
    const back = document.createElement('a');
    back.href = '/log';
    back.textContent = 'To the next job';
    kept.append(back);
    place.prepend(kept);
    if (locked) askToSignIn();
    place.scrollIntoView();
    form.hidden = true; // a second press would be a second entry
  }
}

if (!can) {
  notes.append(say('Without a signal this browser can keep nothing here: pages are kept only on this computer’s own address or over https. Write the job on its sheet then, and here later.'));
} else {
  freshMark();
  for (const form of document.querySelectorAll('form[data-keep]')) {
    form.addEventListener('submit', submitted);
  }
  navigator.serviceWorker.register('/worker.js', { scope: '/log' }).then(
    async () => {
      const { active } = await navigator.serviceWorker.ready;
      // The forms of all jobs are kept, so that they open without a signal.
      const links = [...document.querySelectorAll('a[href^="/log/new"]')].map((a) => a.getAttribute('href'));
      active.postMessage({ pages: ['/log', '/log/new', location.pathname + location.search, ...links] });
    },
    // Without trust in the computer’s certificate, or without room: the page in hand still keeps what is
    // written on it.
    () => notes.append(say('Leave this page open while you are out: this browser cannot open it anew without a signal. What you write on it is kept. On a phone, “Phones” at the foot of the page tells what helps.')),
  );
  window.addEventListener('online', sendAndShow);
  setInterval(() => document.visibilityState === 'visible' && sendAndShow(), 20_000);
  await sendAndShow();
  place.dataset.ready = 'yes';
}
