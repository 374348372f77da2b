// The page of a box on the phone: a tick shows at once, is kept on the phone where there is no signal, and
// goes to the computer when there is one. Without script each tick is a form.
import { queue } from "./shared/queue.js";
import { SHELF } from "./shared/shelf.js";

const page = document.querySelector("[data-keep=ticks]");
const forms = [...page.querySelectorAll("form[data-tick]")];
const count = page.querySelector("[data-count=taken]");
const unsent = page.querySelector("[data-unsent]");
const fields = (form) => Object.fromEntries(new FormData(form));
const keyOf = (form) => `${form.getAttribute("action")} ${form.elements.block.value} ${form.elements.core.value}`;

function show(form, on) {
  form.dataset.tick = String(on);
  form.elements.taken.value = on ? "no" : "yes";
  const button = form.querySelector("button");
  button.classList.toggle("on", on);
  button.setAttribute("aria-pressed", String(on));
  button.querySelector(".box").textContent = on ? "✓" : "";
  if (count) count.textContent = forms.filter((f) => f.dataset.tick === "true").length;
}

// The page as it opens without a signal: brought up to date whenever everything has arrived.
let shelved = false;
const keepPage = async () => shelved && navigator.onLine && (await caches.open(SHELF)).add(location.pathname);
let before = 0;

const waiting = queue("sampling-ticks", (all, refused) => {
  const n = all.length;
  if (n === 0 && before > 0) keepPage().catch(() => {});
  before = n;
  unsent.hidden = n === 0 && !refused;
  unsent.textContent =
    refused || (n === 1 ? "1 entry is kept on this phone until there is a signal." : `${n} entries are kept on this phone until there is a signal.`);
});

for (const form of forms) {
  const kept = waiting.all().findLast((e) => e.key === keyOf(form));
  if (kept) show(form, kept.fields.taken === "yes");
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const sent = { ...fields(form), by: "script" };
    show(form, sent.taken === "yes");
    waiting.add(keyOf(form), form.getAttribute("action"), sent);
  });
}

for (const form of page.querySelectorAll("form[data-later]")) {
  const key = `${form.getAttribute("action")} step`;
  const done = () => {
    const said = document.createElement("p");
    said.className = "said";
    said.setAttribute("role", "status");
    said.textContent = form.dataset.later;
    form.replaceWith(said);
  };
  if (waiting.all().some((e) => e.key === key)) done();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const day = new Date();
    const two = (n) => String(n).padStart(2, "0");
    // The day it was done, not the day it arrives.
    const today = `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
    await waiting.add(key, form.getAttribute("action"), { ...fields(form), day: today, by: "script" });
    if (waiting.all().length === 0) location.reload();
    else done();
  });
}

// Opens anew without a signal, where the browser lets a page keep itself.
const away = page.querySelector("[data-away]");
try {
  await navigator.serviceWorker.register("/worker.js", { scope: "/sampling/box/" });
  const shelf = await caches.open(SHELF);
  const parts = [...document.querySelectorAll("link[href^='/static/'], script[src^='/static/']")];
  await shelf.addAll([location.pathname, ...parts.map((p) => p.href ?? p.src)]);
  shelved = true;
  away.textContent = "This page opens and ticks without a signal too.";
} catch {
  away.textContent = "Leave this page open while you walk: this browser cannot open it anew without a signal. Ticks made in it are kept.";
}
away.hidden = false;
