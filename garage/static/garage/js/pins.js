// Sets a pin: a tap on the photo or the arrow keys fill the two figures of the form, in per cent.
// Without this module the figures are typed.
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

const formOf = (stage) => document.getElementById(stage.dataset.pins);
const round = (percent) => Math.round(Math.min(100, Math.max(0, percent)) * 10) / 10;

const show = (stage) => {
  const { x, y, photo } = formOf(stage).elements;
  const ring = stage.querySelector("[data-pin-ring]");
  const box = stage.querySelector("svg").viewBox.baseVal;
  const here = x.value !== "" && y.value !== "" && (!photo || photo.value === stage.dataset.photo);
  ring.setAttribute("visibility", here ? "visible" : "hidden");
  ring.setAttribute("cx", (Number(x.value) / 100) * box.width);
  ring.setAttribute("cy", (Number(y.value) / 100) * box.height);
};

const showAll = (form) => document.querySelectorAll(`[data-pins="${form.id}"]`).forEach(show);

const put = (stage, across, down) => {
  const { x, y, photo } = formOf(stage).elements;
  x.value = round(across);
  y.value = round(down);
  if (photo) photo.value = stage.dataset.photo;
  showAll(formOf(stage));
};

const next = (stage) => document.getElementById(formOf(stage).dataset.then)?.focus();

const onKey = (stage, event) => {
  const step = STEPS[event.key];
  if (event.target !== stage || !(step || event.key === "Enter")) return;
  event.preventDefault();
  if (!step) return next(stage);
  const { x, y } = formOf(stage).elements;
  const far = event.shiftKey ? 10 : 1;
  const from = [x, y].map((box) => (box.value === "" ? 50 : Number(box.value)));
  put(stage, from[0] + step[0] * far, from[1] + step[1] * far);
};

const start = (root) => {
  for (const stage of root.querySelectorAll("[data-pins]")) {
    if (stage.dataset.ready || !formOf(stage)) continue;
    stage.dataset.ready = "1";
    stage.tabIndex = 0;
    stage.setAttribute("role", "group");
    stage.setAttribute("aria-label", stage.dataset.label);
    stage.addEventListener("click", (event) => {
      if (event.target.closest("a")) return;
      const box = stage.getBoundingClientRect();
      put(stage, ((event.clientX - box.left) / box.width) * 100, ((event.clientY - box.top) / box.height) * 100);
      next(stage);
    });
    stage.addEventListener("keydown", (event) => onKey(stage, event));
    formOf(stage).addEventListener("change", () => show(stage));
    show(stage);
  }
};
document.addEventListener("htmx:load", (event) => start(event.detail.elt));
start(document);
