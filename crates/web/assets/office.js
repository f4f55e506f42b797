// News of changes made elsewhere, and keys that save a walk.

const version = document.documentElement.dataset.version;

// A page that is being left is not loaded anew: that would undo the press that leaves it.
const page = document.documentElement;
addEventListener("beforeunload", () => {
  page.dataset.leaving = "";
  // A document to be kept, not shown, leaves the page where it is.
  setTimeout(() => delete page.dataset.leaving, 10000);
});

// A browser opens six connections to an office at most, pages gone back from and hidden ones included:
// only the page that is looked at listens.
let ear;
async function news(wasAway) {
  ear?.abort();
  const mine = (ear = new AbortController());
  const wait = () => new Promise((done) => setTimeout(done, 3000));
  while (!mine.signal.aborted) {
    try {
      const asked = performance.now();
      const answer = await fetch(`/news?after=${version}`, { signal: mine.signal });
      // What is answered at once had happened before anybody looked again.
      const before = wasAway && performance.now() - asked < 1000;
      if (answer.ok && (await answer.text()) !== version) return tell(before);
      if (!answer.ok) await wait();
    } catch {
      if (!mine.signal.aborted) await wait();
    }
    wasAway = false;
  }
}
addEventListener("pagehide", () => ear?.abort());
addEventListener("pageshow", (event) => event.persisted && news(true));
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") news(true);
  else ear?.abort();
});

// A page that nobody looked at meanwhile is simply shown as it is now.
function tell(away) {
  if (document.querySelector("body > .news")) return;
  const typing = document.querySelector("form.edit[data-changed]");
  if (!typing && away && !("leaving" in page.dataset)) return location.reload();
  const bar = document.createElement("div");
  bar.className = "news";
  bar.setAttribute("role", "status");
  bar.append("The railroad has been changed since this page was shown. ");
  const again = document.createElement("button");
  again.type = "button";
  again.textContent = typing ? "Show it as it is now, without what you typed" : "Show it as it is now";
  again.addEventListener("click", () => location.reload());
  bar.append(again);
  document.body.append(bar);
}

const field = (at) => at instanceof Element && at.matches("input, textarea, select");

document.addEventListener("keydown", (event) => {
  if (field(event.target)) return;
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z") {
    const wanted = event.shiftKey ? "redo" : "undo";
    const button = document.querySelector(`form.desk button[value=${wanted}]`);
    if (button) {
      event.preventDefault();
      button.click();
    }
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  // Leaves and moves are turned with the arrow keys, unless a drawing is being scrolled.
  if (event.target instanceof Element && event.target.closest("[role=region]")) return;
  const way = { ArrowLeft: "prev", ArrowRight: "next" }[event.key];
  const link = way && document.querySelector(`nav.leaves a[rel=${way}]`);
  if (link) link.click();
  if (event.key === "/") {
    const find = document.querySelector("form.find input[type=search]");
    if (find) {
      event.preventDefault();
      find.focus();
    }
  }
});

// What is being worked out is looked at again until it is there.
async function wait(box) {
  const bar = box.querySelector("progress");
  for (;;) {
    await new Promise((done) => setTimeout(done, 700));
    try {
      const { done, part } = await (await fetch(box.dataset.waiting)).json();
      if (done && !("leaving" in page.dataset)) return location.reload();
      if (bar) bar.value = part;
    } catch {
      // The office may be closed for a moment.
    }
  }
}
const under = document.querySelector("[data-waiting]");
if (under) wait(under);

// A table or drawing that fits needs no stop for the tabulator.
function stops() {
  for (const box of document.querySelectorAll(".ledger, .drawing, .diff, pre[tabindex]")) {
    const scrolls = box.scrollWidth > box.clientWidth + 1 || box.scrollHeight > box.clientHeight + 1;
    box.tabIndex = scrolls ? 0 : -1;
  }
}
addEventListener("resize", stops);
stops();
news();
