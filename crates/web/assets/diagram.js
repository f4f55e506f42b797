// Picking a train, and drawing the hours farther apart.

const svg = document.querySelector("svg.diagram");
const zoom = document.querySelector("#zoom");
if (svg && zoom) {
  zoom.hidden = false;
  const width = Number(svg.getAttribute("width"));
  const height = Number(svg.getAttribute("height"));
  let scale = 1;
  zoom.addEventListener("click", (event) => {
    const way = event.target.dataset.zoom;
    if (!way) return;
    scale = Math.min(4, Math.max(0.4, scale * (way === "in" ? 1.4 : 1 / 1.4)));
    svg.setAttribute("width", width * scale);
    svg.setAttribute("height", height * scale);
  });
  const strings = svg.querySelectorAll("a.string");
  const pick = (one) => {
    svg.classList.toggle("picking", Boolean(one));
    for (const string of strings) string.classList.toggle("picked", string === one);
  };
  for (const string of strings) {
    string.addEventListener("focus", () => pick(string));
    string.addEventListener("pointerenter", () => pick(string));
    string.addEventListener("blur", () => pick(null));
    string.addEventListener("pointerleave", () => pick(null));
  }
}
