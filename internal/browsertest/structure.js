// Of what kinds the elements of the page are, and what its headings and landmarks are like: what the rules of
// axe-core about names, roles and order go by, without the words and without how often.
(() => {
  const refs = new Set(["for", "list", "headers", "form", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-details", "aria-errormessage",
    "aria-flowto", "aria-activedescendant"]);
  const plain = new Set(["class", "id", "name", "style", "value", "width", "height", "viewBox", "preserveAspectRatio", "font-family", "font-size", "shape-rendering", "xmlns",
    "min", "max", "step", "maxlength", "minlength", "pattern", "rows", "cols", "size", "datetime", "offset", "download", "action", "method", "enctype", "checked", "selected", "open"]);
  const worded = new Set(["href", "src", "title", "alt", "placeholder", "content", "label", "aria-label", "aria-valuetext", "aria-valuenow", "aria-valuemin", "aria-valuemax",
    "aria-roledescription"]);
  const is = (e) => e.localName + (e.hasAttribute("role") ? "=" + e.getAttribute("role") : "");
  const seen = (e) => e.checkVisibility({visibilityProperty: true});
  const kinds = new Set();
  for (const e of document.querySelectorAll("*:not(svg *)")) {
    const s = [is(e.parentElement ?? e), is(e), seen(e) ? "" : "hidden", e.closest("[aria-hidden=true]") ? "silent" : ""];
    for (const {name, value} of [...e.attributes].sort((a, b) => (a.name < b.name ? -1 : 1))) {
      if (refs.has(name)) s.push(name + value.split(/\s+/).map((id) => (document.getElementById(id) ? 1 : 0)));
      else if (worded.has(name)) s.push(name + (value.trim() ? 1 : 0));
      else if (!plain.has(name) && !name.startsWith("data-")) s.push(name + "=" + value);
    }
    const texts = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
    s.push(texts ? "text" : e.textContent.trim() ? "says" : "", Math.min(e.labels?.length ?? -1, 2));
    if (/^(ul|ol|dl|table|tr|figure|fieldset|details|select)$/.test(e.localName)) s.push([...new Set([...e.children].map(is))].sort().join(","));
    s.push("in", e.parentElement?.closest("a[href], button, summary, label, option, [role=button], [role=img], [tabindex]")?.localName,
      e.parentElement?.closest("main, nav, header, footer, aside, section, form, dialog, [role=region], [role=dialog], [role=status], [role=alert]")?.localName);
    if (/auto|scroll/.test(getComputedStyle(e).overflow) && e.scrollWidth > e.clientWidth + 13) s.push("scrolls", e.querySelector("a[href], button, input, select, textarea, summary, [tabindex]") ? 1 : 0);
    if (e.localName === "table") s.push(e.rows.length > 3 && e.rows[0].cells.length > 3);
    kinds.add(s.join(" "));
  }
  let last = 0;
  for (const h of document.querySelectorAll("h1, h2, h3, h4, h5, h6")) {
    if (!seen(h)) continue;
    kinds.add("heading " + last + " " + h.localName);
    last = h.localName;
  }
  const landmarks = [...document.querySelectorAll("main, nav, aside, section[aria-label], section[aria-labelledby], form[aria-label], [role=region], body > header, body > footer")].filter(seen)
    .map((e) => [is(e), e.getAttribute("aria-label") ?? e.getAttribute("aria-labelledby")].join(" ").replace(/\d+/g, "9"));
  for (const l of landmarks) kinds.add("landmark " + l.split(" ")[0] + landmarks.filter((m) => m === l).length);
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  kinds.add("ids alike " + (ids.length > new Set(ids).size));
  kinds.add("title " + Boolean(document.title.trim()) + " main headings " + document.querySelectorAll("h1").length);
  return [...kinds];
})()
