// The bench on a phone: one vial in front of you, others in the air. The page
// draws what follows from three things: the sheet from the server, the marks
// kept on this phone, and the clock.
import { open, newKey } from "./keep.js";
import { sender } from "./send.js";
import { where, busy, mayBegin, clock, until } from "./when.js";
import { makePad, h, svg } from "./pads.js";
import { rouse, wakeSound, stayAwake } from "./rouse.js";
import { say, shown } from "./words.js";

const page = document.getElementById("bench");
const data = JSON.parse(document.getElementById("sheet").textContent);
let sheet = data.run;
const url = data.url;
const id = `${data.bench}/${sheet.trial}/${sheet.reader}`;

const store = await open();
const me = { started: {}, kept: {}, last: [], seq: 0, ...(await store.get(`run/${id}`)) };
const settings = { sound: true, buzz: true, left: false, air: 4, ...(await store.get("settings")) };
// How far the bench's clock is ahead of this phone's, as last measured. The page
// itself may have come from a cache hours later, so its own time says nothing.
let ahead = me.ahead ?? 0;
const now = () => Date.now() + ahead;

let method, vials; // by id
function take(fresh) {
  sheet = fresh;
  method = Object.fromEntries(sheet.methods.map((m) => [m.version_id, m]));
  vials = sheet.vials.map((v) => ({ ...v, steps: stepsOf(method[v.method].spec), pad: data.pads[v.method] }));
}
const stepsOf = (spec) => (spec.steps?.length ? spec.steps : [{ name: say("read"), seconds: 0 }]);
take(sheet);

// ---- what stands ---------------------------------------------------------

/** The latest start counts: another phone may have begun the same vial again. */
const began = (v) => {
  const t = Math.max(me.started[v.id] ?? 0, v.started ? Date.parse(v.started) : 0);
  return t || null;
};
const kept = (v) => (v.id in me.kept ? me.kept[v.id] : v.mine?.at(-1) ?? null);
const inAir = () => vials.filter((v) => began(v) !== null && !kept(v));
const last = () => vials.find((x) => x.id === me.last.at(-1)); // read last, on this phone
const next = () => vials.find((v) => began(v) === null && !kept(v));
const atOnce = (v) => v.steps.length === 1; // nothing is timed: it is read as it comes
const AT_ONCE = { k: 0, since: 0, ends: null, hands: true, read: true, late: false, due: 0 };
const state = (v) => (began(v) === null && atOnce(v) ? AT_ONCE : where(v.steps, began(v), now()));
const open0 = (v) => began(v) !== null || atOnce(v);

let front = null; // the vial in front
let held = false; // a person put it there
let choice = { text: "", says: "" };
let extra = fresh();
function fresh() { return { flags: [], note: "", lot: 0, dilution: 0, picture: null, open: false, early: false }; }

/** The vial that wants a person most; one being chosen for is never taken away. */
function pick() {
  if (front && kept(front)) { front = null; held = false; }
  if (front && (choice.text || extra.open || (held && open0(front)))) return;
  const air = inAir().map((v) => ({ v, s: state(v) }));
  if (held && front && !air.some((x) => x.s.read || x.s.hands)) return;
  const reading = air.filter((x) => x.s.read).sort((a, b) => (a.s.ends ?? Infinity) - (b.s.ends ?? Infinity));
  const hands = air.filter((x) => !x.s.read && x.s.hands);
  const soon = air.sort((a, b) => a.s.ends - b.s.ends)[0];
  const n = next();
  const roomy = n && air.length < settings.air && mayBegin(n.steps, others(n), now()) <= now();
  const v = reading[0]?.v ?? hands[0]?.v ?? (roomy ? n : soon?.v ?? n) ?? null;
  if (v !== front) turnTo(v, false);
}

function turnTo(v, byHand) {
  front = v;
  held = byHand;
  choice = { text: "", says: "" };
  extra = fresh();
}

const others = (v) => inAir().filter((o) => o !== v).flatMap((o) => busy(o.steps, began(o), now()));

// ---- what is done --------------------------------------------------------

const remember = () => store.put(`run/${id}`, me);
const isoOf = (ms) => new Date(ms).toISOString();

async function post(entry) {
  me.seq++;
  line = { ...line, waiting: line.waiting + 1 };
  await store.add({ ...entry, seq: Date.now() * 1e3 + (me.seq % 1e3), run: id, reader: sheet.reader });
  await remember();
  flush();
}

async function begin(v, at) {
  wakeSound();
  me.started[v.id] = at;
  turnTo(v, false);
  const stored = post({ kind: "start", key: newKey(), vial: v.id, started_at: isoOf(at) });
  draw();
  await stored;
}

async function keep(text) {
  const v = front, at = now(), t0 = began(v);
  const entry = {
    kind: "keep", key: newKey(), vial: v.id, text, dilution: extra.dilution, lot: extra.lot, flags: extra.flags,
    note: extra.note, read_at: isoOf(at), ...(t0 !== null && { started_at: isoOf(t0) }), ...(extra.picture && { picture: extra.picture }),
  };
  me.kept[v.id] = { key: entry.key, text, flags: extra.flags };
  me.last.push(v.id);
  turnTo(null, false);
  const stored = post(entry);
  draw();
  try {
    await stored;
  } catch {
    delete me.kept[v.id];
    me.last.pop();
    turnTo(v, true);
    tell(say("{1} could not be kept on this phone: its storage is full or refused. Write it on the paper sheet.", v.code));
    draw();
  }
}

async function undo() {
  const v = last();
  if (!v) return;
  const old = kept(v);
  me.last.pop();
  me.kept[v.id] = null;
  turnTo(v, true);
  const stored = post({ kind: "back", key: newKey(), old: old.key });
  draw();
  await stored;
}

// ---- how it looks --------------------------------------------------------

let line = { waiting: 0, trouble: "", refused: [] };
let awake = "";
const parts = {};
const button = (cls, onclick, ...kids) => h(`button.${cls}`, { type: "button", onclick }, ...kids);

function draw() {
  pick();
  page.classList.toggle("left", settings.left);
  page.classList.toggle("now", !!front && open0(front) && state(front).read);
  page.replaceChildren(head(), parts.news = news(), ...(front ? vialView(front) : [over()]), air());
  parts.key = stamp();
  tick();
}

/** What must change for the page to be drawn anew; the clock alone changes text. */
const stamp = () => [front?.id, front && began(front), front && open0(front) && state(front).k,
  inAir().length].join();

/** What became of the queue is told without drawing what a finger may be on. */
function tellNews() {
  if (!front && !finger) return draw();
  if (!front) parts.key = ""; // what is written below the news waits for the lift
  const old = parts.news;
  old.replaceWith(parts.news = news());
}

function head() {
  const done = sheet.done + vials.reduce((n, v) => n + (kept(v) ? 1 : 0) - (v.mine?.length ? 1 : 0), 0);
  return h("header.b-top", {},
    h("h1.b-who", {}, sheet.name, h("small", {}, sheet.sessions > 1 ? say("session {1} of {2}", sheet.session, sheet.sessions) : sheet.title)),
    h("p.b-prog", {}, h("b", {}, String(done)), " " + say("of {1}", sheet.of), bar(done / Math.max(1, sheet.of))),
    button("small", more, say("More")),
    button("small", wipe, say("Wipe")));
}

function bar(share) {
  return svg("svg", { width: "100%", height: 6, "aria-hidden": "true" },
    svg("rect", { class: "st-next", width: "100%", height: 6 }), svg("rect", { class: "st-done", width: `${100 * share}%`, height: 6 }));
}

function news() {
  const refused = line.refused[0];
  if (refused) {
    const v = vials.find((x) => x.id === refused.vial);
    return h("p.news.bad", { role: "alert" }, h("b", {}, say("{1} was not kept:", v?.code ?? say("An entry")) + " "), refused.refused, " ",
      button("small", async () => { await store.drop(refused.key); if (v) delete me.kept[v.id]; await remember(); draw(); flush(); }, say("Seen")));
  }
  if (!line.trouble) return h("p.news.vh", { role: "status" }, line.waiting ? say("{1} being sent", line.waiting) : say("all sent"));
  return h("p.news", { role: "status" }, h("b", {}, say("{1} waiting on this phone:", line.waiting) + " "), line.trouble, ". " + say("Go on; they are sent when it is back."));
}

function vialView(v) {
  const spec = method[v.method].spec, s = open0(v) ? state(v) : null;
  const dilution = extra.dilution || v.dilution;
  const top = h("section.b-vial", { "aria-label": say("Vial {1}", v.code) },
    h("div", {}, h("p.lab", {}, say("vial")), h("p.b-code", {}, v.code)),
    h("div.b-time", { role: "timer", "aria-live": "off" }, parts.word = h("p.lab"), parts.count = h("p.b-count")),
    h("p.b-what.lab", {}, h("b", {}, spec.name), [", " + (dilution > 1 ? say("diluted ×{1}", shown(dilution)) : say("undiluted")), v.technique && `, ${v.technique}`].filter(Boolean).join("") + ". " + (v.pad.how ?? "")));
  if (!s) return [top, stepsBar(v, null), ready(v, spec)];
  const reading = s.read || choice.text || extra.early;
  return [top, atOnce(v) ? null : stepsBar(v, s), reading ? null : doing(v, s), reading ? padView(v, spec, s) : null].filter(Boolean);
}

function stepsBar(v, s) {
  const lens = v.steps.map((x, k) => (k === v.steps.length - 1 ? x.within || x.seconds || 30 : x.seconds) || 5);
  const all = lens.reduce((a, b) => a + b, 0);
  let x = 0;
  const box = svg("svg", { class: "b-steps", width: "100%", height: s ? 34 : 14, "aria-hidden": "true" });
  lens.forEach((len, k) => {
    const w = (100 * len) / all;
    const cls = !s || k > s.k ? "st-next" : k < s.k ? "st-done" : "st-now";
    box.append(svg("rect", { class: cls, x: `${x}%`, y: 2, width: `${Math.max(0.5, w - 0.8)}%`, height: 10 }));
    const here = s && k === s.k;
    if (here) {
      parts.fill = svg("rect", { class: "st-done", x: `${x}%`, y: 2, width: "0%", height: 10 });
      parts.room = w - 0.8;
      box.append(parts.fill);
    }
    const late = x > 60;
    if (here) box.append(svg("text", { x: `${late ? x + w : x}%`, y: 29, "text-anchor": late ? "end" : "start", class: "strong" }, v.steps[k].name));
    x += w;
  });
  return box;
}

function ready(v, spec) {
  return h(".b-do", {},
    h("p.say", {}, v.steps.length > 1 ? say("Make it ready up to “{1}”. Begin as that step starts.", v.steps[0].name) : say("Begin when you look at it.")),
    spec.caution ? h("p.note.caution", {}, spec.caution) : null,
    steps(v, -1),
    h("button.big", { type: "button", id: "begin", onclick: () => begin(v, now()) }, h("b", {}, say("Begin {1}", v.code)),
      parts.when = h("small")),
    undoLine());
}

const big = (word) => word.charAt(0).toUpperCase() + word.slice(1);

const steps = (v, k) => h("ol.steps", {}, ...v.steps.map((s, i) => h("li", i === k ? { "aria-current": "step" } : {},
  h("span", {}, s.name), h("span.num", {}, i === v.steps.length - 1 ? (s.within ? say("within {1}", clock(s.within * 1e3)) : "") : clock(s.seconds * 1e3)))));

function doing(v, s) {
  const n = next();
  const room = n && inAir().length < settings.air;
  return h(".b-do", {},
    h("p.say.big", {}, say(s.hands ? say("{1}, until the count is out.") : say("{1}. Hands free."), big(v.steps[s.k].name))),
    steps(v, s.k),
    room ? button("big.plain", () => { turnTo(n, true); draw(); }, h("b", {}, say("Turn to {1}", n.code)), parts.when = h("small")) : null,
    h(".pair", {},
      button("small", () => begin(v, now()), say("Begun again")),
      button("small", () => { extra.early = true; held = true; draw(); }, say("Read it early"))),
    undoLine());
}

function undoLine() {
  const v = last();
  return v ? button("undo", undo, say("Undo") + " ", h("b.code", {}, `${v.code}, ${shown(kept(v)?.text || "") || say("no reading")}`)) : null;
}

function padView(v, spec, s) {
  const keepText = h("b.code"), keepSays = h("small");
  const go = h("button.keep", { type: "button", id: "keep", onclick: () => { if (!choice.text) return tell(say("Choose what you saw first.")); settle(v, s); } }, keepText, keepSays);
  const show = (text, says) => {
    choice = { text, says };
    keepText.textContent = text ? say("Keep {1}", shown(text)) : say("Keep");
    keepSays.textContent = !text ? say("choose first") : !state(v).read ? say("before its time: asks why") : says;
    go.toggleAttribute("data-empty", !text);
  };
  const pad = makePad(v.pad, choice.text, show);
  show(choice.text, choice.says);
  const old = last();
  return h(".b-pad", {},
    extra.open ? remarks(v, spec) : pad,
    h(".b-keep", {},
      h("button.undo", { type: "button", disabled: !old, onclick: undo }, say("Undo"), h("small", {}, old ? `${old.code} ${shown(kept(old)?.text || "") || say("none")}` : say("nothing yet"))),
      h("button.undo", { type: "button", id: "remarks", "aria-expanded": String(extra.open), onclick: () => { extra.open = !extra.open; draw(); } },
        extra.open ? say("Back") : say("Remark"), h("small", {}, extra.open ? say("to the pad") : said())),
      go));
}

/** What is remarked so far, in few words. */
const said = () => [...extra.flags.map((f) => say(f)), extra.note && say("note"), extra.picture && say("photo"), extra.dilution && `×${shown(extra.dilution)}`].filter(Boolean).join(", ") || say("flag, photo");


function remarks(v, spec) {
  const flag = (f) => h("button.key.word", { type: "button", "aria-pressed": String(extra.flags.includes(f)), onclick: (e) => {
    extra.flags = extra.flags.includes(f) ? extra.flags.filter((x) => x !== f) : [...extra.flags, f];
    e.currentTarget.setAttribute("aria-pressed", String(extra.flags.includes(f)));
  } }, say(f));
  const note = h("textarea", { id: "note", maxlength: "500", rows: "3", oninput: () => { extra.note = note.value; } });
  note.value = extra.note;
  const file = h("input", { type: "file", id: "photo", accept: "image/jpeg,image/png", onchange: async () => { extra.picture = await shrink(file.files[0]); got.textContent = extra.picture ? say("one photo is attached") : say("that file is no JPEG or PNG picture"); } });
  const got = h("span.lab", { role: "status" }, extra.picture ? say("one photo is attached") : "");
  const lots = method[v.method].lots ?? [];
  const lot = h("select", { id: "lot", onchange: () => { extra.lot = Number(lot.value); } }, ...lots.map((l) => h("option", { value: String(l.id), selected: l.id === (extra.lot || v.lot) }, l.code)));
  const factors = [...new Set([v.dilution, 1, spec.dilution?.factor].filter((x) => x >= 1))];
  const dil = h("select", { id: "dil", onchange: () => { extra.dilution = Number(dil.value); } }, ...factors.map((f) => h("option", { value: String(f), selected: f === (extra.dilution || v.dilution) }, f === 1 ? say("undiluted") : say("diluted ×{1}", shown(f)))));
  return h(".remarks", {},
    h("p", {}, h("b", {}, say("What went wrong, if anything"))), h(".keys.more", {}, ...data.flags.map(flag)),
    h("label", { for: "note" }, say("Note")), note,
    store.photos ? h("label", { for: "photo" }, say("Photo, JPEG or PNG")) : null, store.photos ? file : null, got,
    lots.length > 1 ? h("label", { for: "lot" }, say("Lot")) : null, lots.length > 1 ? lot : null,
    factors.length > 1 ? h("label", { for: "dil" }, say("Dilution")) : null, factors.length > 1 ? dil : null,
    button("small", () => { if (!extra.flags.length) return tell(say("Say what went wrong: flag it first.")); keep(""); }, say("No reading was possible")));
}

/** A smaller picture without the place and the phone's name that it carried. */
async function shrink(file) {
  if (!file) return null;
  try {
    const img = await createImageBitmap(file);
    const k = Math.min(1, 1600 / Math.max(img.width, img.height));
    const c = h("canvas", { width: Math.round(img.width * k), height: Math.round(img.height * k) });
    c.getContext("2d").drawImage(img, 0, 0, c.width, c.height);
    return await new Promise((ok) => c.toBlob(ok, "image/jpeg", 0.9));
  } catch {
    return null;
  }
}

function settle(v, s) {
  if (state(v).read) return keep(choice.text);
  ask(say("Before its time"), say("{1} was to be read in {2}. Why now?", v.code, clock(s.due - now())), (why) => {
    extra.note = [extra.note, `early: ${why}`].filter(Boolean).join("; ");
    if (data.flags.includes("other") && !extra.flags.includes("other")) extra.flags.push("other");
    keep(choice.text);
  });
}

function over() {
  const left = sheet.of - sheet.done;
  return h(".b-do", {},
    h("p.say.big", {}, vials.length ? say("Every vial of this session is read.") : say("No vial waits for you here.")),
    h("p.note", {}, line.waiting ? say("Stay until all is sent.") : left > 0 && sheet.sessions > 1 ? say("The next session comes up when you open this page again.") : say("The findings come once the key is open and the trial is finished.")),
    h("a.btn", { href: url + "/run" }, say("Open this page again")), h("a.btn", { href: url + "/mine" }, say("What I have read")), undoLine());
}

/** The next vial to begin of each method: the order of the sheet is a proposal. */
const nexts = () => {
  const seen = new Set();
  return vials.filter((v) => began(v) === null && !kept(v) && !seen.has(v.method) && seen.add(v.method));
};

function air() {
  const list = inAir().filter((v) => v !== front);
  parts.air = list.map((v) => ({ v, el: h("span.num"), word: h("span") }));
  return h("nav.b-air", { "aria-label": say("Other vials") },
    ...parts.air.map(({ v, el, word }) => h("button", { type: "button", title: method[v.method].spec.name, onclick: () => { turnTo(v, true); draw(); } }, h("b.code", {}, v.code), word, el)),
    ...nexts().filter((n) => n !== front).map((n) => h("button", { type: "button", title: method[n.method].spec.name, onclick: () => { turnTo(n, true); draw(); } },
      h("b.code", {}, n.code), h("span", {}, say("to begin")), h("span.num", {}, method[n.method].spec.name))));
}

// ---- the clock -----------------------------------------------------------

// While a finger is down the clock draws nothing anew: what it is on would be gone before it lifts.
let finger = false, lifting;
addEventListener("pointerdown", () => { clearTimeout(lifting); finger = true; }, true);
const lift = () => { clearTimeout(lifting); lifting = setTimeout(() => { finger = false; }, 300); }; // the click comes after
for (const end of ["pointerup", "pointercancel"]) addEventListener(end, lift, true);
addEventListener("pointermove", (e) => { if (!e.buttons) finger = false; }, true); // lifted outside the window

const called = new Map(); // vial → the step it was last called for

function tick() {
  if (parts.key !== stamp() && !finger) return draw();
  const t = now();
  if (front) tickFront(t);
  for (const { v, el, word } of parts.air ?? []) {
    const s = state(v);
    word.textContent = s.read ? (s.late ? say("late") : say("read")) : s.hands ? v.steps[s.k].name : say("in the air");
    el.textContent = s.ends === null ? say("now") : clock(Math.abs(s.ends - t));
  }
  for (const v of inAir()) call(v);
  const look = front && !open0(front) ? front : next();
  if (look && parts.when) parts.when.textContent = room(look, t);
}

/** Whether a vial begun now would want hands when another does. */
function room(n, t) {
  const wait = mayBegin(n.steps, others(n), t) - t;
  if (wait > 1000) return say("begun now it would collide; clear in {1}", clock(wait));
  return inAir().length ? say("its times miss the other vials’") : say("then {1}", n.steps[0].name);
}

function tickFront(t) {
  if (!open0(front)) {
    parts.word.textContent = say("from beginning to reading");
    parts.count.textContent = clock(until(front.steps, front.steps.length - 1));
    return;
  }
  if (began(front) === null) { parts.word.textContent = say("read when you are ready"); parts.count.textContent = ""; return; }
  const s = state(front);
  parts.word.textContent = s.late ? say("too late by") : s.read ? (s.ends ? say("read now; window closes in") : say("read now")) : s.hands ? say("{1}, for", front.steps[s.k].name) : say("hands free for");
  parts.count.textContent = s.ends === null ? clock(t - s.since) : clock(Math.abs(s.ends - t));
  const span = (s.ends ?? s.since + 30e3) - s.since;
  parts.fill?.setAttribute("width", `${parts.room * Math.min(1, (t - s.since) / span)}%`);
}

function call(v) {
  const s = state(v);
  if (called.get(v.id) === s.k) return;
  const first = !called.has(v.id);
  called.set(v.id, s.k);
  if (!first && (s.hands || s.read)) rouse(settings, s.read);
}

// ---- small windows ---------------------------------------------------------

function wipe() {
  const cover = h("dialog.wipe", { "aria-label": say("Wipe the screen") }, h("p", {}, say("Wipe the screen.")), h("p.b-count", {}, "5"));
  document.body.append(cover);
  cover.showModal();
  cover.addEventListener("cancel", (e) => e.preventDefault());
  let n = 5;
  const timer = setInterval(() => {
    cover.lastChild.textContent = String(--n);
    if (n <= 0) { clearInterval(timer); cover.close(); cover.remove(); }
  }, 1000);
}

function box(title, ...kids) {
  const d = h("dialog.b-box", { "aria-label": title }, h("h2", {}, title), ...kids);
  document.body.append(d);
  d.addEventListener("close", () => d.remove());
  d.showModal();
  return d;
}

const tell = (text) => { const d = box(say("At the bench"), h("p", {}, text), button("btn.do", () => d.close(), say("Go on"))); };

function ask(title, text, then) {
  const why = h("input", { id: "why", maxlength: "200", autocomplete: "off" });
  const d = box(title, h("label", { for: "why" }, text), why,
    h(".pair", {}, button("btn", () => d.close(), say("Wait")),
      h("button.btn.do", { type: "button", id: "why-keep", onclick: () => { if (why.value.trim()) { d.close(); then(why.value.trim()); } else why.focus(); } }, say("Keep"))));
}

function more() {
  const set = async (k, v) => { settings[k] = v; await store.put("settings", settings); draw(); };
  const tickbox = (k, word) => h("label.tick", {}, h("input", { type: "checkbox", checked: settings[k], onchange: (e) => set(k, e.currentTarget.checked) }), word);
  const many = h("select", { id: "many", onchange: () => set("air", Number(many.value)) }, ...[1, 2, 3, 4, 6, 8].map((n) => h("option", { value: String(n), selected: n === settings.air }, String(n))));
  const d = box(say("This phone"),
    tickbox("left", say("for the left hand")), tickbox("sound", say("sound")), tickbox("buzz", say("vibration")),
    h("label", { for: "many" }, say("Vials in the air at once")), many,
    h("p.note", {}, awake),
    h("p.note", {}, line.waiting ? say("{1} entries wait here.", line.waiting) : say("Everything on this phone has been sent.")),
    h(".pair", {}, h("a.btn", { href: url + "/mine" }, say("What I have read")), button("btn", () => { wakeSound(); rouse({ sound: true, buzz: true }, true); }, say("Try the call"))),
    h(".pair", {}, h("a.btn", { href: "/" }, say("Leave the bench")), button("btn.do", () => d.close(), say("Go on"))));
}

// ---- going ------------------------------------------------------------------

const flush = sender({
  url, store, mine: (e) => e.run === id,
  tell: (state) => { line = state; tellNews(); },
});

/** Starts by another phone of the same vials, the bench's own record, its clock. */
async function refresh() {
  if (document.hidden) return;
  try {
    const t0 = Date.now();
    const res = await fetch(`${url}/run.json?session=${sheet.session}`, { headers: { Accept: "application/json" } });
    if (!res.ok) return;
    const fresh = await res.json();
    const off = Date.parse(fresh.now) - (t0 + Date.now()) / 2;
    if (Math.abs(off - ahead) > 500) { ahead = me.ahead = off; remember(); }
    page.dataset.clock = "measured";
    const at = front?.id;
    take(fresh);
    front = vials.find((v) => v.id === at) ?? null;
  } catch { /* the sender tells of lost connections */ }
}

stayAwake((word) => { awake = word; });
draw();
flush();
refresh();
setInterval(tick, 250);
setInterval(refresh, 15000);
document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
page.dataset.ready = "yes";
