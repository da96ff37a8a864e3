// What a page is measured by at the width it has: {h1, low, small, ringless}, each a list of sentences.
({ least }) => {
  const seen = (el) => el.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) && !el.closest("[aria-hidden=true]");
  const said = (el) => `${el.tagName.toLowerCase()} “${(el.innerText || el.getAttribute("aria-label") || el.name || el.id || "").trim().replace(/\s+/g, " ").slice(0, 40)}”`;
  const controls = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")].filter((el) => seen(el) && el.tabIndex >= 0 && !el.matches(".skip"));

  // What answers to the finger: a tick with its label, a link with the whole row it reaches over.
  const target = (el) => (el.matches(".reach") ? el.offsetParent : el.matches("input") && el.closest("label")) || el;
  const inSentence = (el) => {
    if (el.tagName !== "A" || getComputedStyle(el).display !== "inline") return false;
    const block = el.closest("p, li, td, th, dd, dt, h1, h2, h3, figcaption, small");
    if (!block) return false;
    const links = [...block.querySelectorAll("a")].reduce((sum, a) => sum + a.innerText.trim().length, 0);
    return block.innerText.trim().length > links;
  };
  const needs = (el) => (el.matches(".tag") ? least.tag : inSentence(el) ? least.inline : least.control);
  const low = controls.flatMap((el) => {
    const boxes = [...el.getClientRects(), ...target(el).getClientRects()];
    const height = Math.max(...boxes.map((box) => box.height));
    return height < needs(el) - 0.01 ? [`${said(el)} is ${height.toFixed(1)} px high, not ${needs(el)}`] : [];
  });

  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const small = new Set();
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const el = node.parentElement;
    if (!node.data.trim() || !el.checkVisibility() || el.closest("script, noscript, option, title, datalist")) continue;
    const turn = el instanceof SVGElement ? el.getScreenCTM() : { a: 1, b: 0 };
    const scale = Math.hypot(turn.a, turn.b); // words up a line are as large as words along it
    const size = parseFloat(getComputedStyle(el).fontSize) * scale;
    if (size < least.text - 0.1) small.add(`“${node.data.trim().slice(0, 40)}” is ${size.toFixed(1)} px`);
  }

  const ringed = (el, after) => {
    const style = getComputedStyle(el, after);
    return style.outlineStyle === "solid" && parseFloat(style.outlineWidth) >= least.ring;
  };
  const ringless = controls.flatMap((el) => {
    el.focus();
    if (document.activeElement !== el) return [`${said(el)} takes no focus`];
    const shows = ringed(el) || (el.matches(".reach") && ringed(el, "::after")) || (el.closest("label") && ringed(el.closest("label")));
    return shows ? [] : [`${said(el)} shows no ring`];
  });
  document.activeElement.blur();

  return {
    h1: [...document.querySelectorAll("h1")].filter(seen).length === 1 ? [] : [`${document.querySelectorAll("h1").length} h1`],
    low, small: [...small], ringless,
  };
}
