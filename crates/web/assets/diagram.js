// Picking a train, moving it in time, and drawing the hours farther apart. What a move would come to is
// asked of the office; nothing is written before "Keep it".

const svg = () => document.querySelector("svg.diagram");
const zoom = document.querySelector("#zoom");
const tried = document.querySelector("#tried");
let scale = 1;
let moved = { train: "", minutes: 0 };

function sized() {
  const drawing = svg();
  const [, , width, height] = drawing.getAttribute("viewBox").split(" ").map(Number);
  drawing.setAttribute("width", width * scale);
  drawing.setAttribute("height", height * scale);
}

if (zoom && svg()) {
  zoom.hidden = false;
  zoom.addEventListener("click", (event) => {
    const way = event.target.dataset.zoom;
    if (!way) return;
    scale = Math.min(4, Math.max(0.4, scale * (way === "in" ? 1.4 : 1 / 1.4)));
    sized();
  });
}

const stringOf = (event) => (event.target instanceof Element ? event.target.closest("a.string") : null);

function pick(one) {
  svg().classList.toggle("picking", Boolean(one));
  for (const string of svg().querySelectorAll("a.string")) string.classList.toggle("picked", string === one);
}

async function ask(train, minutes, from, meet) {
  moved = { train, minutes };
  const query = new URLSearchParams({ train, minutes, line: svg().dataset.line });
  if (from) query.set("from", from);
  if (meet) for (const [name, value] of Object.entries(meet)) query.set(name, value);
  const began = performance.now();
  const answer = await (await fetch(`/retime/try?${query}`)).json();
  if (moved.train !== train || moved.minutes !== minutes) return;
  tried.innerHTML = answer.words;
  tried.dataset.milliseconds = Math.round(performance.now() - began);
  if (!answer.drawing) return;
  const held = document.activeElement?.dataset?.train;
  const fresh = new DOMParser().parseFromString(answer.drawing, "text/html").body.firstElementChild;
  svg().replaceWith(fresh);
  sized();
  if (held) svg().querySelector(`a.string[data-train="${CSS.escape(held)}"]`)?.focus({ preventScroll: true });
}

if (tried && svg()) {
  const box = svg().parentElement;
  box.addEventListener("focusin", (event) => pick(stringOf(event)));
  box.addEventListener("focusout", () => tried.childElementCount || pick(null));
  box.addEventListener("pointerover", (event) => {
    const string = stringOf(event);
    if (string) pick(string);
  });
  box.addEventListener("keydown", (event) => {
    const train = stringOf(event)?.dataset.train;
    const step = { "<": -1, ",": -1, ">": 1, ".": 1 }[event.key];
    if (!train || !step) return;
    event.preventDefault();
    ask(train, (moved.train === train ? moved.minutes : 0) + step);
  });
  box.addEventListener("dragstart", (event) => event.preventDefault());
  box.addEventListener("pointerdown", (event) => {
    const string = stringOf(event);
    const train = string?.dataset.train;
    if (!train || event.button !== 0) return;
    if (event.target.closest(".meet")) return dragMeet(event, train);
    const from = event.clientX;
    const shown = svg().getBoundingClientRect();
    const unit = svg().viewBox.baseVal.width / shown.width;
    const before = moved.train === train ? moved.minutes : 0;
    const rails = string.querySelectorAll("polyline, text, circle");
    // With Shift it is held at the station last passed, and is later from there on.
    const station = event.shiftKey ? stationAt((event.clientY - shown.top) * unit, string) : "";
    let minutes = before;
    let dragged = false;
    const move = (event) => {
      const across = (event.clientX - from) * unit;
      dragged ||= Math.abs(across) > 4;
      if (!dragged) return;
      minutes = before + Math.round((across / Number(svg().dataset.hour)) * 60);
      for (const part of rails) part.setAttribute("transform", `translate(${across} 0)`);
    };
    const end = () => {
      removeEventListener("pointermove", move);
      if (dragged) ask(train, minutes, station);
    };
    // A drag is not a walk to the train's page.
    string.addEventListener("click", (event) => dragged && event.preventDefault(), { once: true });
    addEventListener("pointermove", move);
    addEventListener("pointerup", end, { once: true });
    addEventListener("pointercancel", end, { once: true });
  });
}

// A ring is dragged up or down to the station where the two are to meet.
function dragMeet(event, train) {
  const ring = event.target.closest(".meet");
  const shown = svg().getBoundingClientRect();
  const unit = svg().viewBox.baseVal.width / shown.width;
  const home = Number(ring.getAttribute("cy"));
  const began = event.clientY;
  let at;
  const move = (event) => {
    const y = home + (event.clientY - began) * unit;
    at = stations().sort((a, b) => Math.abs(a.y - y) - Math.abs(b.y - y))[0];
    ring.setAttribute("cy", at.y);
  };
  const end = () => {
    removeEventListener("pointermove", move);
    if (at && Math.abs(at.y - home) > 1) ask(train, 0, "", { meet: ring.dataset.other, at: at.name });
  };
  // A drag is not a walk to the train's page.
  ring.closest("a").addEventListener("click", (event) => at && event.preventDefault(), { once: true });
  addEventListener("pointermove", move);
  addEventListener("pointerup", end, { once: true });
  addEventListener("pointercancel", end, { once: true });
}

const stations = () =>
  [...svg().querySelectorAll("text[text-anchor=end]")].map((text) => ({
    name: text.textContent,
    y: Number(text.getAttribute("y")) - 4,
  }));

function stationAt(y, string) {
  const names = stations();
  const up = string.classList.contains("up");
  const passed = names.filter((station) => (up ? station.y <= y + 2 : station.y >= y - 2));
  passed.sort((a, b) => (up ? b.y - a.y : a.y - b.y));
  return passed[0]?.name ?? "";
}
