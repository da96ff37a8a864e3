// The view in space, opened on demand: until then a page carries this file and nothing of three.js.
const KEPT = "splitpin.solid";
const hosts = () => document.querySelectorAll("[data-solid]");
const part = (host, name) => host.querySelector(`[data-solid-${name}]`);
const told = (host) => JSON.parse(part(host, "data").firstElementChild.textContent);
const views = new Map(); // host id: {host, view}, the host as it was opened

const remember = (open) => {
  try {
    open ? localStorage.setItem(KEPT, "1") : localStorage.removeItem(KEPT);
  } catch {
    // A browser that keeps nothing opens the view afresh each time.
  }
};
const remembered = () => {
  try {
    return localStorage.getItem(KEPT) === "1";
  } catch {
    return false;
  }
};

// Asked of a throw-away canvas, so that a browser without it is told before anything is fetched.
const canDraw = () => {
  const context = document.createElement("canvas").getContext("webgl2");
  context?.getExtension("WEBGL_lose_context")?.loseContext();
  return Boolean(context);
};

const refuse = (host, why) => {
  part(host, why).hidden = false;
  part(host, "open").disabled = true;
};

const mark = (host, open) => {
  host.toggleAttribute("data-open", open);
  part(host, "figure").hidden = !open;
  part(host, "open").setAttribute("aria-expanded", String(open));
  part(host, "open").textContent = open ? host.dataset.closes : host.dataset.opens;
};

const open = async (host) => {
  if (!canDraw()) return refuse(host, "cannot");
  mark(host, true);
  const { three, view, parts } = host.dataset;
  try {
    // Whole addresses, because stored files carry a hash in their names.
    const fetched = [three, view, ...parts.split(" ")].map((address) => import(address));
    const [library, space, ...others] = await Promise.all(fetched);
    if (!host.isConnected || !host.hasAttribute("data-open") || views.has(host.id)) return;
    const opened = space.openView(library, Object.assign({}, ...others), host);
    views.set(host.id, { host, view: opened });
    opened.show(told(host));
  } catch (failed) {
    mark(host, false);
    refuse(host, "unfetched");
    throw failed;
  }
};

const close = (host) => {
  views.get(host.id)?.view.close();
  views.delete(host.id);
  mark(host, false);
};

// What was swapped in brings new figures; an opened view takes them over and keeps its angle.
const takeOver = (host) => {
  const kept = views.get(host.id);
  if (!kept || kept.host === host) return;
  part(kept.host, "data").replaceChildren(...part(host, "data").childNodes);
  part(kept.host, "stale").hidden = true;
  part(kept.host, "key").replaceChildren(...part(host, "key").childNodes);
  host.replaceWith(kept.host);
  kept.view.show(told(kept.host));
};

const ready = () => {
  for (const host of hosts()) {
    takeOver(host);
    if (host.dataset.ready) continue;
    host.dataset.ready = "1";
    part(host, "choice").hidden = false;
    part(host, "open").addEventListener("click", () => {
      const opening = !host.hasAttribute("data-open");
      remember(opening);
      opening ? open(host) : close(host);
    });
    if (remembered()) idle(() => host.isConnected && open(host));
  }
};
const idle = window.requestIdleCallback ?? ((then) => setTimeout(then, 300));

// "After bend 2" is a link to the same page; here only its drawing is fetched, so that neither the
// place on the page nor the angle of the view is lost.
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.(".stages a[href]");
  const box = link && !link.hasAttribute("hx-post") && document.getElementById("views");
  if (!box || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const answer = await fetch(link.href);
  const page = new DOMParser().parseFromString(answer.ok ? await answer.text() : "", "text/html");
  const fresh = page.getElementById("views");
  if (!fresh) return location.assign(link.href);
  history.replaceState(history.state, "", link.href);
  box.replaceChildren(...fresh.childNodes);
  document.getElementById("stages")?.replaceWith(page.getElementById("stages"));
  ready();
  [...document.querySelectorAll(".stages a")].find((one) => one.href === link.href)?.focus();
});

// A box that cannot be read for a moment takes no drawing away, or the page would jump under the
// hand that types: the last one stays, and says so.
document.addEventListener("htmx:oobBeforeSwap", (event) => {
  const { target, fragment } = event.detail, words = target.querySelector("[data-solid-stale]");
  if (target.id !== "views" || !words || fragment.querySelector(".drawing")) return;
  event.detail.shouldSwap = false;
  words.hidden = false;
});
document.addEventListener("htmx:oobAfterSwap", ready);
document.addEventListener("htmx:afterSettle", ready);
ready();
