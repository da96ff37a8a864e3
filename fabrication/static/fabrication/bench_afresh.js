// A phone that was picked up again shows the bench as it now stands: another phone may have gone on.
// What is being typed is left alone.
const busy = () => {
  const box = document.querySelector("[data-keep]")?.elements.came_to;
  return Boolean(box?.value) || Boolean(document.querySelector(".htmx-request"));
};

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState !== "visible" || busy() || !document.getElementById("bench")) return;
  htmx.ajax("GET", location.pathname + location.search, { target: "#bench", swap: "outerHTML" });
});
