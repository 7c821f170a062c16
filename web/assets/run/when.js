// Where a vial stands and when the next one may begin. Everything follows from
// stored absolute times, so that a reload, a sleeping phone or a closed tab
// changes nothing. Pure: no page, no clock of its own. Times in milliseconds.

/** @typedef {{name: string, seconds: number, hands_on?: boolean, within?: number}} Step the last one is the reading */

const EYES = 20e3; // a reading whose step states no length

/** Seconds from the start to the moment step k begins. */
export const until = (steps, k) => steps.slice(0, k).reduce((t, s) => t + s.seconds * 1e3, 0);

/** The step that a vial is in; `ends` is null where nothing ends it but a reading. */
export function where(steps, began, now) {
  let t = began;
  const last = steps.length - 1;
  for (let k = 0; k < last; k++) {
    const ends = t + steps[k].seconds * 1e3;
    if (now < ends) return { k, since: t, ends, hands: !!steps[k].hands_on, read: false, due: began + until(steps, last) };
    t = ends;
  }
  const within = steps[last].within;
  const ends = within ? t + within * 1e3 : null;
  return { k: last, since: t, ends, hands: true, read: true, late: ends !== null && now > ends, due: t };
}

/** The spans in which a vial wants hands or eyes, from `now` on. */
export function busy(steps, began, now) {
  const spans = [];
  let t = began;
  steps.forEach((s, k) => {
    const reading = k === steps.length - 1;
    const from = reading ? Math.max(t, now) : t;
    const to = from + (reading ? s.seconds * 1e3 || EYES : s.seconds * 1e3);
    if ((reading || s.hands_on) && to > now) spans.push([Math.max(from, now), to]);
    t = to;
  });
  return spans;
}

/** Earliest start, from `now` on, at which a new vial's spans miss all others. */
export function mayBegin(steps, others, now) {
  const shape = busy(steps, 0, 0);
  const clear = (t) => !shape.some(([a, b]) => others.some(([c, d]) => t + a < d && c < t + b));
  const tries = [now];
  for (const [a] of shape) for (const [, d] of others) if (d - a > now) tries.push(d - a);
  return tries.sort((a, b) => a - b).find(clear) ?? tries[tries.length - 1];
}

export function clock(ms) {
  const s = Math.max(0, Math.ceil(ms / 1e3));
  const two = (n) => String(n).padStart(2, "0");
  const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
}
