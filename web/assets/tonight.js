// Tonight's reading without waiting for a page: a brick or a number is turned round as it is
// chosen, and Keep lies under the thumb. Without the bench the reading is kept on the phone,
// in the queue of the run screen, until the bench has it.

import { open, newKey } from "/assets/run/keep.js";
import { sender } from "/assets/run/send.js";

const pad = document.getElementById("pad");
const says = document.getElementById("says");
const root = document.querySelector(".tonight.for-water");

if (pad && says && root) start();

async function start() {
  const store = await open();
  const mine = (e) => e.tonight;
  const line = document.createElement("p");
  line.className = "note waiting-here";
  line.setAttribute("role", "status");
  line.hidden = true;
  says.before(line);
  const flush = sender({ url: "/read", mine, store, tell: ({ waiting, trouble, refused }) => {
    const words = [];
    if (waiting) words.push(`${waiting} kept on this phone, ${trouble ? "waiting for the bench" : "being sent"}.`);
    for (const e of refused) words.push(`Not kept: ${e.refused}.`);
    line.textContent = words.join(" ");
    line.hidden = !words.length;
  } });
  flush();
  root.classList.add("at-once");

  let asked = 0;
  async function read() {
    const data = new FormData(pad);
    if (!String(data.get("reading") ?? "").trim()) return;
    const mineNow = ++asked;
    const query = new URLSearchParams(data);
    try {
      const res = await fetch("/read?" + query, { headers: { Accept: "text/html" } });
      const page = new DOMParser().parseFromString(await res.text(), "text/html");
      if (mineNow !== asked) return; // something else was chosen meanwhile
      const fresh = page.getElementById("says");
      says.replaceChildren(...(fresh ? fresh.childNodes : []));
      const wrong = page.querySelector(".pad ~ .wrong");
      pad.querySelector(".pad ~ .wrong")?.remove();
      if (wrong) pad.querySelector(".pad").after(wrong);
      history.replaceState(null, "", "/read?" + query);
    } catch {
      if (mineNow === asked) alone(data);
    }
  }

  // no bench: the reading can be kept, what it says comes later
  function alone(data) {
    const text = String(data.get("reading"));
    const words = document.createElement("p");
    words.className = "say big";
    words.textContent = "The bench cannot be reached. Keep the reading: what it says comes when the bench has it.";
    const row = document.createElement("p");
    row.className = "keeprow";
    const button = document.createElement("button");
    button.className = "btn do";
    button.type = "button";
    button.append(`Keep ${text} `);
    const small = document.createElement("small");
    small.textContent = "on this phone, until the bench has it";
    button.append(small);
    row.append(button);
    const box = document.createElement("div");
    box.id = "keep";
    box.append(row);
    says.replaceChildren(words, box);
    const known = data.get("tank");
    button.disabled = !known;
    if (!known) small.textContent = "choose a water first";
    button.addEventListener("click", async () => {
      const fields = {};
      for (const [name, value] of data) (fields[name] ??= []).push(String(value));
      await store.add({ key: newKey(), seq: Date.now(), tonight: true, fields, taken_at: new Date().toISOString() });
      pad.reset();
      says.replaceChildren();
      flush();
    });
  }

  let later = 0;
  pad.addEventListener("change", read);
  pad.addEventListener("input", (e) => {
    if (!e.target.matches(".digits")) return;
    clearTimeout(later);
    later = setTimeout(read, 350);
  });
  pad.addEventListener("submit", (e) => {
    if (e.submitter?.name === "beyond") return; // a way of its own
    e.preventDefault();
    read();
  });
}
