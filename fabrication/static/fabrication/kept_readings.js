// A reading costs a trip to the vice: it is written on this phone before it is sent, and taken off
// only when the server's page lists it. What the server did not get is sent again by itself.
const store = "splitpin-reading";
const strip = document.querySelector("[data-kept]");
const bench = () => document.getElementById("bench");
const form = () => document.querySelector("[data-keep]");
const names = ["key", "bend", "seen", "pulled_to", "came_to"];
// Of this pipe and this person: nobody sends another's reading as their own.
const slot = () => `${store}-${bench().dataset.making}-${bench().dataset.who}`;

// A browser that keeps nothing (private windows, a full disk) still sends.
const read = () => { try { return JSON.parse(localStorage.getItem(slot())); } catch { return null; } };
const keep = (entry) => { try { localStorage.setItem(slot(), JSON.stringify(entry)); return true; } catch { return false; } };
const drop = () => { try { localStorage.removeItem(slot()); } catch { /* nothing was kept */ } };

const typed = (from) => Object.fromEntries(names.map((name) => [name, from.elements[name].value]));
const said = ({ values }) => `Bend ${values.bend}: pulled to ${values.pulled_to}, came to ${values.came_to}.`;
const show = (text) => { strip.textContent = text; strip.hidden = !text; };

const settle = () => {
  const entry = read();
  if (!entry || bench().dataset.written.split(" ").includes(entry.values.key)) {
    if (entry) drop();
    return show("");
  }
  if (entry.sent) return show(`Kept on this phone, waiting to be sent. ${said(entry)}`);
  const here = form();
  if (!here || here.elements.bend.value !== entry.values.bend || here.elements.seen.value !== entry.values.seen) return;
  if (!here.elements.came_to.value) here.elements.came_to.value = entry.values.came_to;
  if (entry.values.pulled_to) here.elements.pulled_to.value = entry.values.pulled_to;
};

const send = () => {
  const entry = read();
  if (!entry?.sent || document.querySelector(".htmx-request")) return;
  if (bench().dataset.written.split(" ").includes(entry.values.key)) return settle();
  htmx.ajax("POST", entry.url, { target: "#bench", swap: "outerHTML", values: entry.values });
};

document.addEventListener("input", (event) => {
  const here = event.target.closest("[data-keep]");
  if (here) keep({ sent: false, url: here.action, values: typed(here) });
});
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target.matches?.("[data-keep]")) keep({ sent: true, url: event.target.action, values: typed(event.target) });
});
const failed = (event) => {
  if (read()?.sent) return settle();
  if (event.detail.requestConfig?.verb === "post") show("No answer from the server: that is not written down yet. Press once more.");
};
for (const trouble of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) document.addEventListener(trouble, failed);
// Refused in words: the reading stands in the boxes again, to be looked at by who typed it.
document.addEventListener("htmx:beforeSwap", (event) => event.detail.xhr.status === 422 && drop());
document.addEventListener("htmx:load", settle);
addEventListener("online", send);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
setInterval(send, 15_000);
settle();
send();
