// A pad for each way of entering a reading. Choose, then Keep: drips don't save. A pad
// tells its choice as reading notation and as the interval that it means.
import { say, shown as show } from "./words.js";

/** A small element maker: h("p.note", {id: "x"}, "text", child). */
export function h(tag, props, ...kids) {
  const [name, ...classes] = tag.split(".");
  const el = document.createElement(name || "div");
  if (classes.length) el.className = classes.join(" ");
  for (const [k, v] of Object.entries(props ?? {})) {
    if (v === false || v === undefined || v === null) continue;
    if (k.startsWith("on")) el.addEventListener(k.slice(2), v);
    else if (k in el && typeof v !== "string") el[k] = v;
    else el.setAttribute(k, v === true ? "" : v);
  }
  el.append(...kids.filter((x) => x !== null && x !== undefined && x !== false));
  return el;
}

export function svg(tag, props, ...kids) {
  const el = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [k, v] of Object.entries(props)) el.setAttribute(k, v);
  el.append(...kids);
  return el;
}

const hidden = (text) => h("span.vh", {}, text);

/** @param {{form: string}} pad  @param {string} text what was chosen before  @param {(text: string, says: string) => void} choose */
export function makePad(pad, text, choose) {
  if (pad.form === "tiles") return wall(pad, text, choose);
  if (pad.form === "count") return drops(pad, text, choose);
  return digits(pad, text, choose);
}

/** A wall of bricks: at a swatch on one side, between two on the other, half a
 *  step off and equal in size, so that none is easier to hit. Up is more. */
function wall(pad, text, choose) {
  const n = pad.targets.length;
  const bricks = pad.targets.map((t, i) => {
    const at = t.place === "at";
    const el = h("button.brick", { type: "button", "data-n": t.text, "aria-pressed": String(t.text === text), onclick: () => {
      bricks.forEach((b) => b.setAttribute("aria-pressed", String(b === el)));
      choose(t.text, show(t.says));
    } }, chip(t.colours), h("span", {}, ...face(t)));
    el.style.gridRow = `${n - i} / span 2`;
    el.classList.add(at ? "at" : "gap");
    return el;
  });
  const box = h(".wall", { role: "group", "aria-label": say("Reading, from below the first swatch to above the last") }, ...bricks);
  const chosen = pad.targets.find((t) => t.text === text);
  if (chosen) choose(chosen.text, show(chosen.says));
  return box;
}

function face(t) {
  if (t.place === "at") return [hidden(say("at") + " "), show(t.a)];
  if (t.place === "gap") return [hidden(say("between") + " "), show(t.a), h("i", {}, ".."), show(t.b)];
  return [h("small", {}, say("above") + " "), show(t.a)];
}

function chip(colours) {
  const box = svg("svg", { class: "chip", viewBox: "0 0 10 20", preserveAspectRatio: "none", "aria-hidden": "true" });
  const each = 20 / colours.length;
  colours.forEach((c, i) => { if (c) box.append(svg("rect", { y: i * each, width: 10, height: each, fill: c })); });
  return box;
}

const LEFT = "\u2190";

function digits(pad, text, choose) {
  let typed = /^[<>]/.test(text) ? "" : text;
  const shown = h("output.shown-digits", { "aria-label": say("Typed so far") });
  const says = h("span.shown-says");
  const tell = () => {
    const v = Number(typed);
    const good = /^-?\d+(\.\d*)?$/.test(typed) && Number.isFinite(v);
    shown.textContent = show(typed) || "\u2013";
    const half = pad.resolution ? pad.resolution / 2 : 0.5 * 10 ** -(typed.split(".")[1]?.length ?? 0);
    const means = good ? show(say("{1} to {2}", tidy(v - half, half), tidy(v + half, half))) : "";
    says.textContent = means;
    choose(good ? typed.replace(/\.$/, "") : "", means);
  };
  const press = (k) => {
    if (k === LEFT) typed = typed.slice(0, -1);
    else if (k === "\u2212") typed = typed.startsWith("-") ? typed.slice(1) : "-" + typed;
    else if (k === "." ? !typed.includes(".") : typed.length < 9) typed += k;
    tell();
  };
  const names = { [LEFT]: say("Take back the last digit"), "\u2212": say("Below zero or above") };
  const key = (k) => h("button.key", { type: "button", "aria-label": names[k], onclick: () => press(k) }, k === "." ? show("0.").slice(1) : k);
  const out = (mark, value, word) => value === undefined || value === null ? null
    : h("button.key.word", { type: "button", onclick: () => { typed = ""; tell(); shown.textContent = word; choose(mark + value, word); } }, word);
  const more = [pad.signed ? key("\u2212") : null, out("<", pad.low, say("under range")), out(">", pad.high, say("over range"))].filter(Boolean);
  const box = h(".digits", {},
    h(".shown", {}, h("span.lab", {}, pad.prompt), shown, says),
    h(".keys", { role: "group", "aria-label": say("Digits") }, ..."789456123".split("").map(key), key("."), key("0"), key(LEFT)),
    more.length ? h(".keys.more", {}, ...more) : null);
  box.tabIndex = -1;
  box.addEventListener("keydown", (e) => {
    const k = e.key === "," ? "." : e.key === "Backspace" ? LEFT : e.key;
    if (/^\d$/.test(k) || k === "." || k === LEFT) { press(k); e.preventDefault(); }
  });
  tell();
  return box;
}

function drops(pad, text, choose) {
  let n = parseInt(text, 10) || 0;
  const count = h("span.count", {});
  const tell = () => {
    count.textContent = n;
    const d = pad.drop;
    choose(n > 0 ? `${n}d` : "", n > 0 ? show(say("more than {1}, up to {2}", tidy((n - 1) * d, d), tidy(n * d, d))) : "");
  };
  const typing = h("input.key.word", { inputmode: "numeric", maxlength: "3", placeholder: say("type the count"), "aria-label": say("Drops, typed"),
    oninput: () => { n = parseInt(typing.value, 10) || 0; tell(); } });
  const box = h(".drops", {},
    h("button.drop", { type: "button", "aria-live": "polite", onclick: () => { n++; tell(); } }, count, h("span", {}, say("drops in; tap for each"))),
    h(".keys.more", {},
      h("button.key.word", { type: "button", onclick: () => { n = Math.max(0, n - 1); tell(); } }, say("take one back")),
      typing));
  tell();
  return box;
}

/** A bound with the decimals that its half step needs. */
function tidy(v, step) {
  const places = Math.min(6, Math.max(0, Math.ceil(-Math.log10(Math.abs(step) || 1) + 0.2)));
  return String(Number(v.toFixed(places + 1)));
}
