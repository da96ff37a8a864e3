// Keeps the screen awake at the bench, and says honestly whether it does. A lock is lost whenever
// the page goes out of sight; it is taken again when it comes back.
const line = document.querySelector("[data-wake]");
const button = line?.querySelector("button");
const words = line?.querySelector("[role=status]");
let lock = null;
let wanted = true;

const show = (text, press) => {
  words.textContent = text;
  button.textContent = press;
  button.hidden = !press;
};

const take = async () => {
  if (!wanted || lock || document.visibilityState !== "visible") return;
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => {
      lock = null;
      if (document.visibilityState === "visible") show("The screen may go dark.", "Keep the screen awake");
    });
    show("The screen stays awake.", "Let it go dark");
  } catch {
    // A low battery, or a browser that wants to be tapped first.
    show("The screen may go dark.", "Keep the screen awake");
  }
};

if (line && "wakeLock" in navigator) {
  button.addEventListener("click", async () => {
    wanted = !lock;
    if (wanted) return take();
    await lock.release();
  });
  document.addEventListener("visibilitychange", take);
  take();
} else if (line) {
  const why = isSecureContext ? "This browser cannot keep the screen awake" : "Over plain http no browser keeps the screen awake";
  show(`${why}: set the phone's own time to dark.`, "");
}
