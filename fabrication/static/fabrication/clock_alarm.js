// What a clock does at its end, on request: a sound, a screen that stays on, a note on this phone.
const row = document.querySelector("[data-alarms]");
const sound = row?.querySelector("[data-sound]");
const awake = row?.querySelector("[data-awake]");
const notify = row?.querySelector("[data-notify]");
let audio = null, lock = null;

const press = (button, on) => button.setAttribute("aria-pressed", String(on));
const isPressed = (button) => button?.getAttribute("aria-pressed") === "true";

const beep = () => {
  for (let at = 0; at < 4; at += 0.8) {
    const tone = audio.createOscillator(), loud = audio.createGain();
    tone.frequency.value = 880;
    loud.gain.value = 0.4;
    tone.connect(loud).connect(audio.destination);
    tone.start(audio.currentTime + at);
    tone.stop(audio.currentTime + at + 0.4);
  }
};

const keepOn = async () => {
  lock = await navigator.wakeLock.request("screen").catch(() => null);
  press(awake, Boolean(lock));
};

if (row && document.querySelector("[data-ends]")) {
  row.hidden = false;
  if (!("AudioContext" in window)) sound.remove();
  if (!("wakeLock" in navigator)) awake.remove();
  if (!("Notification" in window) || !isSecureContext) notify.remove();
  sound.addEventListener("click", () => {
    audio ??= new AudioContext(); // only a tap may start sound
    press(sound, !isPressed(sound));
  });
  awake.addEventListener("click", () => {
    if (!lock) return keepOn();
    lock.release();
    lock = null;
    press(awake, false);
  });
  notify.addEventListener("click", async () => {
    const said = await Notification.requestPermission();
    press(notify, said === "granted" && !isPressed(notify));
  });
  // The system takes the lock away when the page is left.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && isPressed(awake)) keepOn();
  });
  document.addEventListener("clock-ends", () => {
    if (isPressed(sound)) beep();
    if (isPressed(notify)) new Notification("Time is up", { body: document.title });
  });
}
