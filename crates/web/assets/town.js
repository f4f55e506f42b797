// A town's diagram: pick a track or switch, move it, lengthen it. The fields below are the truth; the
// diagram changes them and is drawn anew from what the railroad would then be.

import { check } from "./form.js";

const box = document.querySelector("#town");
const form = document.querySelector("#form");
const picked = document.querySelector("#picked");
let chosen;

const fieldOf = (thing) => {
  const key = thing.dataset.switch
    ? `switches/${encode(thing.dataset.switch)}/at`
    : `tracks/${encode(thing.dataset.track)}/length`;
  return document.getElementById(`v:${key}`);
};
const encode = (name) => name.replaceAll("%", "%25").replaceAll("/", "%2F");

// A length in inches as its owner wrote it, and back in the same manner.
export function inches(text) {
  const plain = text.trim().toLowerCase().replaceAll("\u2032", "'").replaceAll("\u2033", '"');
  const part = (pattern) => {
    const found = plain.match(pattern);
    if (!found) return 0;
    return found[1].split(/[ -]+/).reduce((sum, piece) => {
      const [over, under] = piece.split("/").map(Number);
      return sum + (under ? over / under : over);
    }, 0);
  };
  const number = "(\\d[\\d./ ]*?)";
  if (/\d\s*(mm|cm|m)\b/.test(plain)) {
    const [, size, unit] = plain.match(/([\d.]+)\s*(mm|cm|m)\b/);
    return (Number(size) * { mm: 1, cm: 10, m: 1000 }[unit]) / 25.4;
  }
  return 12 * part(new RegExp(`${number}\\s*(?:ft|feet|')`)) + part(/(?:^|[^\d.\/])(\d[\d.\/ -]*?)\s*(?:in|inches|")/);
}

export function written(length, like) {
  if (/\d\s*mm\b/.test(like)) return `${Math.round(length * 25.4)} mm`;
  if (/\d\s*cm\b/.test(like)) return `${(Math.round(length * 25.4) / 10).toFixed(1)} cm`;
  if (/\d\s*m\b/.test(like)) return `${(Math.round(length * 25.4) / 1000).toFixed(3)} m`;
  const all = Math.round(length * 4) / 4;
  const feet = Math.floor(all / 12);
  const rest = all - feet * 12;
  return [feet ? `${feet} ft` : "", rest || !feet ? `${rest} in` : ""].filter(Boolean).join(" ");
}

function pick(thing, focus = true) {
  for (const other of box.querySelectorAll(".chosen")) other.classList.remove("chosen");
  chosen = thing;
  if (!thing) return (picked.textContent = "");
  thing.classList.add("chosen");
  const field = fieldOf(thing);
  const name = thing.dataset.switch ? `Switch ${thing.dataset.switch}, at` : `Track ${thing.dataset.track}, length`;
  picked.textContent = field ? `${name} ${field.value || "not written"}` : name;
  for (const row of form.querySelectorAll("tr.chosen")) row.classList.remove("chosen");
  field?.closest("tr")?.classList.add("chosen");
  if (focus) thing.focus({ preventScroll: true });
}

function change(thing, by) {
  const field = fieldOf(thing);
  if (!field || !field.value) return;
  const now = inches(field.value);
  field.value = written(Math.max(0.25, now + by), field.value);
  pick(thing);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

box.addEventListener("focusin", (event) => {
  const thing = event.target.closest("[data-switch], [data-track]");
  if (thing && thing !== chosen) pick(thing, false);
});

box.addEventListener("keydown", (event) => {
  const thing = event.target.closest("[data-switch], [data-track]");
  if (!thing) return;
  const step = event.shiftKey ? 12 : 1;
  const keys = thing.dataset.switch
    ? { ArrowLeft: -step, ArrowRight: step }
    : { "+": 1, "=": 1, "-": -1, "\u2212": -1 };
  if (event.key in keys) {
    event.preventDefault();
    event.stopPropagation();
    change(thing, keys[event.key]);
  } else if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    fieldOf(thing)?.focus();
  }
});

// Dragging a switch along its track.
box.addEventListener("pointerdown", (event) => {
  const thing = event.target.closest("[data-switch], [data-track]");
  if (!thing) return;
  pick(thing);
  if (!thing.dataset.switch) return;
  const svg = box.querySelector("svg");
  const { metres, margin, width } = svg.dataset;
  const perPixel = (width / svg.getBoundingClientRect().width) * (metres / (width - 2 * margin)) / 0.0254;
  const field = fieldOf(thing);
  if (!field?.value) return;
  const from = event.clientX;
  const began = inches(field.value);
  const like = field.value;
  event.preventDefault();
  thing.setPointerCapture(event.pointerId);
  const move = (event) => {
    const by = (event.clientX - from) * perPixel;
    const units = (event.clientX - from) * (width / svg.getBoundingClientRect().width);
    thing.setAttribute("transform", `translate(${units} 0)`);
    field.value = written(Math.max(0.25, began + by), like);
    picked.textContent = `Switch ${thing.dataset.switch}, at ${field.value}`;
  };
  const end = () => {
    thing.removeEventListener("pointermove", move);
    if (inches(field.value) !== began) check();
  };
  thing.addEventListener("pointermove", move);
  thing.addEventListener("pointerup", end, { once: true });
  thing.addEventListener("pointercancel", end, { once: true });
});

form.addEventListener("checked", ({ detail }) => {
  if (!detail.drawing) return;
  const name = chosen && (chosen.dataset.switch ?? chosen.dataset.track);
  const kind = chosen?.dataset.switch ? "switch" : "track";
  const had = box.contains(document.activeElement);
  const fresh = new DOMParser().parseFromString(detail.drawing, "text/html").body.firstElementChild;
  box.replaceChildren(fresh);
  const again = name && [...box.querySelectorAll(`[data-${kind}]`)].find((one) => one.dataset[kind] === name);
  if (again) pick(again, had);
});
