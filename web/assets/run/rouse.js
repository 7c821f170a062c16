// Rousing a person with busy hands: sound, vibration, and a screen that stays on.
import { say } from "./words.js";

let audio;

/** A tap must have happened before a phone lets a page make sound. */
export function wakeSound() {
  audio ??= new AudioContext();
  if (audio.state === "suspended") audio.resume();
}

export function rouse(settings, urgent) {
  if (settings.buzz && navigator.vibrate && (navigator.userActivation?.hasBeenActive ?? true)) navigator.vibrate(urgent ? [250, 120, 250] : [120]);
  if (!settings.sound || !audio) return;
  (urgent ? [660, 880] : [660]).forEach((hz, i) => {
    const t = audio.currentTime + i * 0.22;
    const tone = audio.createOscillator(), gain = audio.createGain();
    tone.frequency.value = hz;
    gain.gain.setValueAtTime(0.0001, t);
    gain.gain.exponentialRampToValueAtTime(0.35, t + 0.02);
    gain.gain.exponentialRampToValueAtTime(0.0001, t + 0.2);
    tone.connect(gain).connect(audio.destination);
    tone.start(t);
    tone.stop(t + 0.21);
  });
}

/** Keeps the screen on where the browser allows it; tells what it could do. */
export function stayAwake(tell) {
  if (!("wakeLock" in navigator)) {
    tell(say("This browser lets no page on plain http keep the screen on. The countdowns go on while it sleeps, but it cannot call you: set the phone’s own screen time-out to 10 minutes or more."));
    return;
  }
  const ask = () => navigator.wakeLock.request("screen")
    .then((lock) => { tell(say("The screen stays on while this page is open.")); lock.addEventListener("release", () => tell(say("The screen may sleep: the phone took its permission back."))); })
    .catch(() => tell(say("The phone refused to keep the screen on (often: battery saving). Set its screen time-out longer.")));
  ask();
  document.addEventListener("visibilitychange", () => { if (!document.hidden) ask(); });
}
