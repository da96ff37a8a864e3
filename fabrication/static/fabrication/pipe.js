// On a phone the drawing lies far above the rows: a small copy of it stays beside them and follows.
const glance = document.querySelector(".glance");

const copy = () => {
  const drawn = document.querySelector("#views .drawing > svg.is-wide");
  // Where nothing can be drawn for a moment, the last copy stays.
  if (!glance || !drawn || getComputedStyle(glance).display === "none") return;
  const small = drawn.cloneNode(true);
  small.removeAttribute("class");
  small.setAttribute("aria-hidden", "true");
  // Letters would be too small to read: the shape is what changes.
  for (const one of small.querySelectorAll("text, .balloon, .thin")) one.remove();
  glance.replaceChildren(small);
};

glance?.addEventListener("click", () => document.getElementById("drawing-h").scrollIntoView());

document.addEventListener("htmx:afterSettle", copy);
addEventListener("resize", copy);
copy();
