// The session on this device: news from the office, pages kept up to date, reports kept while it is away.

const bar = document.querySelector("#bar");
const store = "sawby.reports";
let revision = Number(bar?.dataset.revision ?? 0);
let connected = true;

// --- Reports made here and not yet taken by the office: in the browser's own store, in order.

function kept() {
  try {
    return JSON.parse(localStorage.getItem(store) ?? "[]");
  } catch {
    return [];
  }
}
function keep(list) {
  localStorage.setItem(store, JSON.stringify(list));
  show();
}

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// What is said about the connection and about reports that wait.
function show() {
  const place = document.querySelector("#connection");
  if (!place) return;
  const list = kept();
  document.body.classList.toggle("away", !connected);
  const words = [];
  if (!connected) words.push("\u25b2 The office cannot be reached. What is shown may be out of date.");
  if (list.length) {
    words.push(`${list.length} ${list.length === 1 ? "report is" : "reports are"} kept on this device and will be sent once.`);
  }
  const text = words.join(" ");
  if (place.textContent !== text) place.textContent = text;
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  let said = false;
  try {
    for (;;) {
      const [first] = kept();
      if (!first) break;
      let answer;
      try {
        answer = await fetch("/session/say", {
          method: "POST",
          headers: { Accept: "application/json", "Content-Type": "application/x-www-form-urlencoded" },
          body: first.body,
          signal: AbortSignal.timeout(10000),
        });
      } catch {
        lost();
        break;
      }
      // The office is there but cannot write: the report waits.
      if (answer.status === 503 || answer.status === 502 || answer.status === 504) {
        tell(`Not written yet: ${(await words(answer)) ?? "the office is in trouble"} It is tried again.`);
        break;
      }
      said = true;
      keep(kept().filter((one) => one.key !== first.key));
      if (!answer.ok) tell(`Not done (${first.says}). ${(await words(answer)) ?? ""}`);
      else cleared(first.key);
    }
  } finally {
    sending = false;
  }
  if (said) refresh();
}

async function words(answer) {
  try {
    return (await answer.json()).words;
  } catch {
    return undefined;
  }
}

// What the office answers is shown until it is put away.
function tell(text) {
  let box = document.querySelector("#told");
  if (!box) {
    box = document.createElement("div");
    box.id = "told";
    box.setAttribute("role", "alert");
    document.body.append(box);
  }
  const line = document.createElement("p");
  line.textContent = `\u2716 ${text}`;
  const away = document.createElement("button");
  away.type = "button";
  away.textContent = "Seen";
  away.addEventListener("click", () => {
    line.remove();
    if (!box.childElementCount) box.remove();
  });
  line.append(" ", away);
  box.append(line);
}

const sent = new Map();
function cleared(key) {
  const form = sent.get(key);
  sent.delete(key);
  // What was typed has been said.
  if (form?.isConnected) {
    form.reset();
    form.closest("details")?.removeAttribute("open");
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !("say" in form.dataset)) return;
  event.preventDefault();
  const fields = new URLSearchParams(new FormData(form, event.submitter));
  fields.delete("back");
  // The same words pressed again while they wait are the same report.
  const same = new URLSearchParams(fields);
  same.delete("key");
  same.delete("seen:n");
  const meaning = same.toString();
  if (kept().some((one) => one.meaning === meaning)) return show();
  const key = newKey();
  fields.set("key", key);
  const says = (event.submitter?.textContent ?? form.querySelector("button")?.textContent ?? "report").trim();
  sent.set(key, form);
  keep([...kept(), { key, meaning, says, body: fields.toString() }]);
  send();
});

// --- News.

// A browser opens six connections to an office at most, pages gone back from and hidden ones included:
// only the page that is looked at listens.
let source;
let again = 500;
let later;
function deaf() {
  source?.close();
  clearTimeout(later);
}
function listen() {
  deaf();
  if (document.visibilityState === "hidden") return;
  source = new EventSource("/session/stream");
  source.onmessage = (event) => {
    again = 500;
    const first = !connected;
    connected = true;
    const news = JSON.parse(event.data);
    if (news.revision !== revision || news.about.includes("all")) {
      const about = new Set(news.about);
      if (news.revision !== revision + 1 && !news.about.length) about.add("all");
      revision = news.revision;
      if (wanted(about)) refresh();
    } else if (first) refresh();
    show();
    send();
  };
  source.onerror = () => {
    lost();
    // The browser comes back by itself, unless the office answered with something else.
    if (source.readyState === EventSource.CLOSED) {
      later = setTimeout(listen, again);
      again = Math.min(again * 2, 8000);
    }
  };
}

function lost() {
  connected = false;
  show();
}

function wanted(about) {
  if (about.has("all")) return true;
  for (const place of document.querySelectorAll("[data-live]")) {
    for (const word of (place.dataset.watch ?? "").split(" ")) {
      if (about.has(word) || (word && [...about].some((one) => one.startsWith(`${word}:`)))) return true;
    }
    // Trains have names with blanks in them.
    for (const one of about) if (one.includes(":") && place.dataset.watch?.includes(one)) return true;
  }
  return false;
}

let fetching = false;
let stale = false;
let lastLook = 0;
// A page that is being left is not loaded anew (see office.js).
function loadAgain() {
  if (!("leaving" in document.documentElement.dataset)) location.reload();
}

async function refresh() {
  if (fetching) {
    stale = true;
    return;
  }
  fetching = true;
  try {
    do {
      stale = false;
      // Many reports at once are one look.
      const wait = lastLook + 150 - performance.now();
      if (wait > 0) await new Promise((done) => setTimeout(done, wait));
      lastLook = performance.now();
      const answer = await fetch(location.href, { signal: AbortSignal.timeout(10000) });
      if (answer.redirected && new URL(answer.url).pathname === "/join") return loadAgain();
      const text = await answer.text();
      const page = new DOMParser().parseFromString(text, "text/html");
      for (const place of document.querySelectorAll("[data-live]")) {
        const fresh = page.getElementById(place.id);
        if (fresh) morph(place, fresh);
      }
      // A session that began or ended is another page.
      const main = document.querySelector("main");
      const other = page.querySelector("main");
      if (main && other && "live" in main.dataset !== "live" in other.dataset) return loadAgain();
      show();
    } while (stale);
  } catch {
    lost();
  } finally {
    fetching = false;
  }
}

// --- One tree made like another, keeping what is the same: focus, open folds and what is being typed stay.

const keyOf = (node) => (node.nodeType === 1 ? node.dataset?.key || node.id || "" : "");

function alike(a, b) {
  return a.nodeType === b.nodeType && a.nodeName === b.nodeName && keyOf(a) === keyOf(b);
}

export function morph(old, fresh) {
  if (old.nodeType !== 1) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return;
  }
  for (const { name } of [...old.attributes]) {
    if (!fresh.hasAttribute(name) && !(name === "open" && old.nodeName === "DETAILS")) old.removeAttribute(name);
  }
  for (const { name, value } of fresh.attributes) {
    if (name === "open" && old.nodeName === "DETAILS") continue;
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  // What the connection says is this device's own affair, and a list of choices open is left alone.
  if (old.id === "connection") return;
  if (old.nodeName === "SELECT" && old.matches(":focus")) return;
  const keyed = new Map();
  for (const child of old.childNodes) {
    const key = keyOf(child);
    if (key) keyed.set(`${child.nodeName} ${key}`, child);
  }
  let at = old.firstChild;
  for (const wanted of [...fresh.childNodes]) {
    const key = keyOf(wanted);
    const known = key ? keyed.get(`${wanted.nodeName} ${key}`) : at && !keyOf(at) && alike(at, wanted) ? at : null;
    if (known) {
      if (known !== at) old.insertBefore(known, at);
      else at = at.nextSibling;
      morph(known, wanted);
    } else {
      old.insertBefore(document.importNode(wanted, true), at);
    }
  }
  while (at) {
    const next = at.nextSibling;
    at.remove();
    at = next;
  }
}

// --- The clock goes on between news.

const clocks = new WeakMap();
function tick() {
  for (const clock of document.querySelectorAll("[data-clock]")) {
    const { rail, runs, ratio, twentyFour } = clock.dataset;
    const mark = `${rail} ${runs} ${ratio}`;
    let known = clocks.get(clock);
    if (known?.mark !== mark) {
      known = { mark, since: performance.now() };
      clocks.set(clock, known);
    }
    const [railroad, real] = ratio.split("/").map(Number);
    const passed = runs === "true" ? ((performance.now() - known.since) / 1000) * (railroad / real) : 0;
    const text = face(Math.floor(Number(rail) + passed), twentyFour === "true");
    if (clock.textContent !== text) clock.textContent = text;
  }
}
function face(seconds, twentyFour) {
  const day = ((seconds % 86400) + 86400) % 86400;
  const hour = Math.floor(day / 3600);
  const minute = String(Math.floor((day % 3600) / 60)).padStart(2, "0");
  if (twentyFour) return `${hour}:${minute}`;
  return `${hour % 12 || 12}:${minute} ${hour < 12 ? "AM" : "PM"}`;
}

// A page about something under way is looked at again until it is there.
const under = document.querySelector("[data-again]");
if (under) setInterval(loadAgain, Number(under.dataset.again));

setInterval(tick, 250);
tick();
addEventListener("online", () => listen());
addEventListener("pagehide", deaf);
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  listen();
  refresh();
});
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible") return deaf();
  listen();
  refresh();
});
// Reports left over from before this page was opened.
show();
send();
listen();
// A try at what waits, should no news come.
setInterval(() => kept().length && send(), 4000);
