// The plan of the rooms: larger and smaller, shifted by hand, control points moved. The fields of the form
// are the truth; a moved point changes them, and what it comes to is asked of the office at once.

import { check } from "./form.js";

const box = document.querySelector("#plan");
const form = document.querySelector("#form");
const closes = document.querySelector("#closes");
const measures = document.querySelector("#measures");
const zoom = document.querySelector("#zoom");
const svg = () => box.querySelector("svg.plan");
let scale = 1;

// All of the plan fits the window at first; letters and rings keep their size however large it is drawn.
function sized() {
  const drawing = svg();
  if (!drawing) return;
  const { width, height } = drawing.viewBox.baseVal;
  const fits = Math.min(box.clientWidth, (innerHeight * 0.76 * width) / height);
  drawing.style.width = `${Math.round(fits * scale)}px`;
  drawing.style.maxWidth = "none";
  drawing.style.maxHeight = "none";
  drawing.style.setProperty("--unit", (width / Math.max(1, fits * scale)).toFixed(3));
}

function enlarge(by, x = box.clientWidth / 2, y = box.clientHeight / 2) {
  const before = scale;
  scale = by === 0 ? 1 : Math.min(8, Math.max(1, scale * by));
  const left = (box.scrollLeft + x) / before;
  const top = (box.scrollTop + y) / before;
  sized();
  box.scrollLeft = left * scale - x;
  box.scrollTop = top * scale - y;
}

if (zoom && svg()) {
  zoom.hidden = false;
  zoom.addEventListener("click", (event) => {
    const way = event.target.dataset.zoom;
    if (way) enlarge({ in: 1.4, out: 1 / 1.4, all: 0 }[way]);
  });
  box.addEventListener("keydown", (event) => {
    if (event.target !== box) return;
    if (event.key === "+" || event.key === "=") enlarge(1.4);
    else if (event.key === "-") enlarge(1 / 1.4);
    else if (event.key === "0") enlarge(0);
  });
  box.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey) return;
      event.preventDefault();
      const shown = box.getBoundingClientRect();
      enlarge(event.deltaY < 0 ? 1.2 : 1 / 1.2, event.clientX - shown.left, event.clientY - shown.top);
    },
    { passive: false },
  );
  addEventListener("resize", sized);
  sized();
}

// The paper is shifted by a mouse; a finger does it by itself.
box?.addEventListener("pointerdown", (event) => {
  if (event.pointerType !== "mouse" || event.button !== 0 || event.target.closest("a, [data-point]")) return;
  const from = { x: event.clientX + box.scrollLeft, y: event.clientY + box.scrollTop };
  const move = (event) => {
    box.scrollLeft = from.x - event.clientX;
    box.scrollTop = from.y - event.clientY;
  };
  addEventListener("pointermove", move);
  addEventListener("pointerup", () => removeEventListener("pointermove", move), { once: true });
});

function drawn(text) {
  const held = box.contains(document.activeElement) ? document.activeElement.dataset.point : undefined;
  const fresh = new DOMParser().parseFromString(text, "text/html").body.firstElementChild;
  svg().replaceWith(fresh);
  sized();
  if (held) box.querySelector(`[data-point="${held}"]`)?.focus({ preventScroll: true });
}

// One question at a time; while it is answered the last wish waits, and none in between.
let asking = false;
let wish;

async function ask(point, by, start) {
  wish = { point, by, start };
  if (asking) return;
  asking = true;
  while (wish) {
    const { point, by, start } = wish;
    wish = undefined;
    const body = new URLSearchParams(start);
    body.set("point", point);
    for (const [name, value] of Object.entries(by)) body.set(name, value.toFixed(5));
    const began = performance.now();
    const answer = await (await fetch("/rooms/try", { method: "POST", body })).json();
    if (!answer.drawing) continue;
    drawn(answer.drawing);
    for (const [name, value] of Object.entries(answer.fields)) {
      const field = document.getElementById(name);
      if (field) field.value = value;
    }
    closes.replaceChildren(...answer.words.map((words) => Object.assign(document.createElement("li"), { textContent: words })));
    measures.innerHTML = answer.facts;
    box.dataset.milliseconds = Math.round(performance.now() - began);
    box.dataset.server = answer.ms;
  }
  asking = false;
}

if (form && box) {
  const values = () => new FormData(form);
  const metric = () => /\d\s*(mm|cm|m)$/.test(form.querySelector("td input")?.value ?? "");

  box.addEventListener("keydown", async (event) => {
    const thing = event.target.closest("[data-point]");
    if (!thing || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = metric() ? (event.shiftKey ? 0.001 : 0.01) : event.shiftKey ? 0.00635 : 0.0254;
    const free = thing.classList.contains("free");
    const keys = {
      ArrowLeft: free ? { x: -step } : { along: -step },
      ArrowRight: free ? { x: step } : { along: step },
      ArrowUp: free ? { y: step } : { along: step },
      ArrowDown: free ? { y: -step } : { along: -step },
      "<": free ? { turn: -1 } : { radius: -step },
      ",": free ? { turn: -1 } : { radius: -step },
      ">": free ? { turn: 1 } : { radius: step },
      ".": free ? { turn: 1 } : { radius: step },
    };
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      form.querySelector(`tr[data-of="${thing.dataset.point}"] input`)?.focus();
      return;
    }
    const by = keys[event.key];
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    await ask(thing.dataset.point, by, values());
    check();
  });

  box.addEventListener("pointerdown", (event) => {
    const thing = event.target.closest("[data-point]");
    if (!thing || event.button !== 0) return;
    event.preventDefault();
    thing.focus({ preventScroll: true });
    const from = { x: event.clientX, y: event.clientY };
    const start = values();
    const { point, heading } = thing.dataset;
    const free = thing.classList.contains("free");
    const metres = svg().viewBox.baseVal.width / svg().getBoundingClientRect().width / 100;
    let moved = false;
    const move = (event) => {
      const x = (event.clientX - from.x) * metres;
      const y = -(event.clientY - from.y) * metres;
      moved ||= Math.hypot(event.clientX - from.x, event.clientY - from.y) > 3;
      if (!moved) return;
      ask(point, free ? { x, y } : { along: x * Math.cos(heading) + y * Math.sin(heading) }, start);
    };
    const end = async () => {
      removeEventListener("pointermove", move);
      if (!moved) return;
      while (asking) await new Promise((done) => setTimeout(done, 10));
      check();
    };
    addEventListener("pointermove", move);
    addEventListener("pointerup", end, { once: true });
    addEventListener("pointercancel", end, { once: true });
  });

  form.addEventListener("checked", ({ detail }) => {
    if (detail.drawing && !asking) drawn(detail.drawing);
  });
}
