// Checks a form while one types, and shows beside each field what is found.

const form = document.querySelector("form.edit[data-check]");
const verdict = document.querySelector("#verdict");
const elsewhere = document.querySelector("#elsewhere");
let waiting;
let asked = 0;

export const signs = { error: "\u2716", warning: "\u25b2", note: "\u25cb" };

function note({ severity, words }) {
  const line = document.createElement("p");
  const sign = document.createElement("span");
  sign.className = `sign ${severity}`;
  const mark = document.createElement("span");
  mark.ariaHidden = "true";
  mark.textContent = signs[severity];
  sign.append(mark, ` ${severity}`);
  line.append(sign, " ");
  words.split("`").forEach((part, at) => {
    if (at % 2 === 0) return line.append(part);
    const code = document.createElement("code");
    code.textContent = part;
    line.append(code);
  });
  return line;
}

function beside(fields) {
  const rest = [];
  const left = new Map(Object.entries(fields));
  for (const path of left.keys()) {
    const input = document.getElementById(`v:${path}`);
    if (input && !document.getElementById(`n:${path}`)) {
      const box = document.createElement("div");
      box.className = "notes";
      box.id = `n:${path}`;
      box.dataset.notes = path;
      input.after(box);
      input.setAttribute("aria-describedby", box.id);
    }
  }
  for (const box of form.querySelectorAll("[data-notes]")) {
    const notes = left.get(box.dataset.notes) ?? [];
    left.delete(box.dataset.notes);
    box.replaceChildren(...notes.map(note));
    const input = document.getElementById(`v:${box.dataset.notes}`);
    if (input) {
      if (notes.length) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
  }
  for (const notes of left.values()) rest.push(...notes);
  return rest;
}

const count = (number, one, many) => `${number} ${number === 1 ? one : many}`;

export async function check() {
  const mine = ++asked;
  const answer = await fetch(form.dataset.check, {
    method: "POST",
    body: new URLSearchParams(new FormData(form)),
  });
  const found = await answer.json();
  if (mine !== asked) return;
  if (found.stale) {
    verdict.textContent = "The file has been changed meanwhile: show the page again before you go on.";
    return;
  }
  const rest = beside(found.fields);
  const whole = document.querySelector("#all-notes");
  if (whole) whole.replaceChildren(...Object.values(found.fields).flat().map(note));
  elsewhere.replaceChildren(...(found.elsewhere ?? []).map(note), ...(whole ? [] : found.refused ? rest.map(note) : []));
  if (found.changed) form.dataset.changed = "";
  else delete form.dataset.changed;
  if (found.refused) verdict.textContent = "Not as it stands.";
  else if (!found.changed) verdict.textContent = "";
  else {
    const said = [];
    if (found.better) said.push(`${count(found.better, "thing", "things")} mended`);
    if (found.worse) said.push(`${count(found.worse, "new thing needs", "new things need")} attention`);
    verdict.textContent = said.length ? `${said.join(", ")}.` : "Well as it stands.";
  }
  form.dispatchEvent(new CustomEvent("checked", { detail: found }));
}

if (form) {
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(check, 180);
  });
  // Rows may be pasted into the first cell of a new row too: they go to the page for it.
  addEventListener("beforeunload", (event) => {
    if ("changed" in form.dataset && !("sending" in form.dataset)) event.preventDefault();
  });
  form.addEventListener("submit", () => (form.dataset.sending = ""));
  // A page that comes back from the browser's memory still has what was typed.
  addEventListener("pageshow", (event) => {
    delete form.dataset.sending;
    if (event.persisted) check();
  });
}
