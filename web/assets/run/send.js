// Sends what waits, oldest first, and tries again until the bench has it.
import { say } from "./words.js";

const asks = { "Content-Type": "application/json", Accept: "application/json" };

/** @param {{url: string, mine: (e: any) => boolean, store: any, tell: (state: any) => void}} o */
export function sender({ url, mine, store, tell }) {
  let busy = false, again = false, wait = 1000, timer = 0;

  async function flush() {
    if (busy) { again = true; return; }
    busy = true;
    clearTimeout(timer);
    const trouble = await all().catch(() => say("no connection"));
    busy = false;
    await report(trouble);
    wait = trouble ? Math.min(wait * 2, 15000) : 1000;
    if (trouble) timer = setTimeout(flush, wait);
    if (again) { again = false; flush(); }
  }

  async function all() {
    const waiting = (await store.queue()).filter((e) => mine(e) && !e.refused).sort((a, b) => a.seq - b.seq);
    for (let i = 0; i < waiting.length;) {
      if (waiting[i].picture) { // its picture first, then the entry that names it
        const trouble = await picture(waiting[i]);
        if (trouble) return trouble;
      }
      const batch = [waiting[i++]];
      while (i < waiting.length && batch.length < 50 && !waiting[i].picture) batch.push(waiting[i++]);
      const trouble = await entries(batch);
      if (trouble) return trouble;
    }
    return "";
  }

  async function entries(batch) {
    const res = await fetch(url + "/entries", { method: "POST", headers: asks, body: JSON.stringify({ entries: batch }) });
    if (!res.ok) return word(res);
    const answer = await res.json();
    for (const key of answer.kept ?? []) await store.drop(key);
    for (const no of answer.refused ?? []) await store.add({ ...batch.find((e) => e.key === no.key), refused: no.why });
    return "";
  }

  async function picture(e) {
    const res = await fetch("/photos", { method: "POST", headers: { "Content-Type": e.picture.type, Accept: "application/json" }, body: e.picture });
    if (res.ok) e.photo = (await res.json()).name;
    else if ([400, 413, 415].includes(res.status)) e.note = `${e.note ? e.note + "; " : ""}photo refused: ${await word(res)}`;
    else return word(res);
    delete e.picture;
    await store.add(e);
    return "";
  }

  async function word(res) {
    const body = await res.json().catch(() => ({}));
    return body.found ?? say("the bench answered {1}", res.status);
  }

  async function report(trouble) {
    const left = (await store.queue()).filter(mine);
    tell({ waiting: left.filter((e) => !e.refused).length, trouble, refused: left.filter((e) => e.refused) });
  }

  addEventListener("online", flush);
  addEventListener("offline", () => report(say("no connection")));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
  return flush;
}
