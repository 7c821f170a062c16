// In which ways the text of a page stands out from what is behind it, and two elements of each, in coloured.
(() => {
  const grounds = new Map();
  const ground = (e) => {
    if (e === null) return "";
    if (!grounds.has(e)) {
      const s = getComputedStyle(e);
      const own = [s.backgroundColor === "rgba(0, 0, 0, 0)" ? "" : s.backgroundColor, s.backgroundImage === "none" ? "" : s.backgroundImage,
        s.opacity === "1" ? "" : s.opacity, s.filter === "none" ? "" : s.filter, /static|relative/.test(s.position) ? "" : s.position + e.className].join("");
      grounds.set(e, ground(e.parentElement) + (own && "/" + own));
    }
    return grounds.get(e);
  };
  const kinds = new Map();
  for (const e of document.body.querySelectorAll("*")) {
    const says = e.matches("input, select, textarea") || [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
    if (!says || !e.checkVisibility({opacityProperty: true, visibilityProperty: true})) continue;
    const s = getComputedStyle(e);
    const kind = [e.localName, s.color, s.fill, s.fontSize, s.fontWeight, s.textDecorationLine, s.textShadow, e.disabled, e.placeholder, getComputedStyle(e.parentElement).color, ground(e)].join(" ");
    const alike = kinds.get(kind) ?? [];
    kinds.set(kind, alike);
    if (alike.length < 2) alike.push(e);
  }
  globalThis.coloured = [...kinds.values()];
  return [...kinds.keys()];
})()
