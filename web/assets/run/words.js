// What is said on this screen, in the reader's language: English is the key, as
// everywhere in the house. The page brings the words that differ.

const { words, comma } = JSON.parse(document.getElementById("sheet")?.textContent ?? "{}");

/** A sentence with its parts in the places {1}, {2} … */
export const say = (text, ...parts) => (words?.[text] ?? text).replace(/\{(\d+)\}/g, (place, i) => parts[i - 1] ?? place);

/** A reading or a bound as it is shown; what is kept and sent has points. */
export const shown = (text) => (comma ? String(text).replace(/(\d)\.(?=\d|$)/g, "$1,") : String(text));
