// Sends each photo as soon as it is taken, while the rest of the form is still being filled in.
// The form then carries keys, so an error or a dropped line costs no picture. Without this module
// the same inputs send their files with the form.
const key = () => "10000000-1000-4000-8000-100000000000".replace(/[018]/g, (c) =>
  (c ^ (crypto.getRandomValues(new Uint8Array(1))[0] & (15 >> (c / 4)))).toString(16));

const send = (field, file, id, slot) => {
  const body = new FormData();
  body.append("key", id);
  body.append("photo", file, file.name);
  body.append("csrfmiddlewaretoken", field.form.elements.csrfmiddlewaretoken.value);
  const call = new XMLHttpRequest();
  const bar = slot.querySelector("progress");
  call.upload.onprogress = (event) => { bar.value = event.loaded / event.total; };
  call.onload = () => {
    if (call.status === 201 && !call.responseURL.includes("sign-in")) slot.outerHTML = call.responseText;
    else failed(field, file, id, slot, call.status === 422 || call.status === 507 ? call.responseText : "");
  };
  call.onerror = call.ontimeout = () => failed(field, file, id, slot, "");
  call.timeout = 90_000;
  call.open("POST", field.dataset.url);
  call.send(body);
};

const failed = (field, file, id, slot, html) => {
  slot.innerHTML = html || '<p class="error red" role="alert">Not sent. The photo is still here.</p>';
  const again = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: html ? "Leave out" : "Send again" });
  again.addEventListener("click", () => (html ? slot.remove() : (waiting(slot), send(field, file, id, slot))));
  slot.append(again);
};

const waiting = (slot) => { slot.innerHTML = '<p class="small">Sending</p><progress max="1" value="0" aria-label="Sending photo"></progress>'; };

const start = (root) => {
  for (const field of root.querySelectorAll("[data-shots]")) {
    if (field.dataset.ready) continue;
    field.dataset.ready = "1";
    const strip = field.querySelector(".shots");
    field.addEventListener("change", (event) => {
      if (event.target.type !== "file") return;
      for (const file of event.target.files) {
        const slot = Object.assign(document.createElement("div"), { className: "shot is-waiting" });
        waiting(slot);
        strip.append(slot);
        send(field, file, key(), slot);
      }
      event.target.value = "";
    });
    field.addEventListener("click", (event) => {
      if (event.target.matches("[data-drop-shot]")) event.target.closest(".shot").remove();
    });
    // Saving while a photo still travels would leave it behind.
    field.form.addEventListener("submit", (event) => {
      if (!strip.querySelector(".is-waiting progress")) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      const button = event.submitter;
      button.setAttribute("aria-busy", "true");
      const wait = setInterval(() => {
        if (strip.querySelector(".is-waiting progress")) return;
        clearInterval(wait);
        button.removeAttribute("aria-busy");
        if (!strip.querySelector(".is-waiting")) field.form.requestSubmit(button);
      }, 200);
    }, true);
  }
};
document.addEventListener("htmx:load", (event) => start(event.detail.elt));
start(document);
