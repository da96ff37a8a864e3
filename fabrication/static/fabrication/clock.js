// Counts clocks down from the server's end time. The phone's own clock is never used: what has
// passed since is read from the page's stopwatch, and asked again of the server.
const shown = () => [...document.querySelectorAll("[data-ends]")];
const arrived = performance.getEntriesByType("navigation")[0]?.responseStart || performance.now();
let base = null; // the server's time, and what the stopwatch said when it came

const serverNow = () => base.now + (performance.now() - base.at);

const parts = (ms) => {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  const minutes = Math.floor(seconds / 60), hours = Math.floor(seconds / 3600);
  if (hours >= 48) return [[Math.floor(hours / 24), "d"], [hours % 24, "h"]];
  if (minutes >= 60) return [[hours, "h"], [minutes % 60, "m"]];
  return [[minutes, "m"], [seconds % 60, "s"]];
};

const draw = (box, ms) => {
  const words = parts(ms);
  const text = words.map((pair) => pair.join("")).join(" ");
  if (box.textContent === text) return;
  box.replaceChildren(...words.flatMap(([number, unit], place) => {
    const small = document.createElement("small");
    small.textContent = unit;
    return place ? [" ", String(number), small] : [String(number), small];
  }));
};

const isBeingTyped = () => [...document.querySelectorAll("main input, main textarea")]
  .some((box) => box.checked !== box.defaultChecked
    || (!["hidden", "checkbox"].includes(box.type) && box.value !== box.defaultValue));

const ask = async () => {
  const from = document.querySelector("[data-times]")?.dataset.times;
  if (!from) return;
  const answer = await fetch(from, { headers: { accept: "application/json" } }).catch(() => null);
  if (!answer?.ok || answer.redirected) return; // no Wi-Fi: the stopwatch goes on
  const told = await answer.json();
  base = { now: told.now, at: performance.now() };
  const moved = [...document.querySelectorAll("[data-clock]")].some((box) => {
    const clock = told.clocks[box.dataset.clock];
    if (clock?.ends && box.dataset.ends) box.dataset.ends = clock.ends;
    return clock && clock.stage !== box.dataset.stage;
  });
  if (moved && !isBeingTyped()) location.reload();
};

const tick = () => {
  for (const box of shown()) {
    const left = Number(box.dataset.ends) - serverNow();
    draw(box, left);
    if (left > 0 || box.dataset.rung) continue;
    box.dataset.rung = "1";
    document.dispatchEvent(new CustomEvent("clock-ends", { detail: box }));
    setTimeout(ask, 5_000);
  }
};

const first = shown()[0];
if (first && !document.documentElement.dataset.clocksRun) {
  document.documentElement.dataset.clocksRun = "1";
  base = { now: Number(first.dataset.now), at: arrived };
  const off = Date.now() - serverNow();
  const note = document.querySelector("[data-phone-off]");
  if (note && Math.abs(off) > 120_000) note.hidden = false;
  tick();
  setInterval(tick, 500);
  setInterval(ask, 60_000);
  // A stopwatch may stand still while a phone sleeps.
  document.addEventListener("visibilitychange", () => document.hidden || ask());
  addEventListener("pageshow", (event) => event.persisted && ask());
}
