// A clock cannot outlive its page: the monotonic clock that it counts by begins anew. So a note stands for as long as one
// runs, in this tab alone, by numbers (a guest by initials), and the page that comes after says what was lost. Pure.

const KEY = "floor-timing";

/** Note whose clocks run: `[number]`; none takes the note away. */
export function noteTiming(storage, numbers) {
  try {
    if (numbers.length) storage.setItem(KEY, JSON.stringify(numbers));
    else storage.removeItem(KEY);
  } catch {
    // No room, or none allowed: then nothing can be said afterwards.
  }
}

/** What to say of clocks that ran when the page was opened anew, once; "" where none did. */
export function lostTiming(storage) {
  const numbers = take(storage);
  if (!numbers.length) return "";
  const [of, it] = numbers.length > 1 ? ["Clocks were running", "their times are"] : ["A clock was running", "its time is"];
  return `${of} for ${numbers.join(", ")} when this page was opened anew: ${it} lost, and nothing was kept. Time it again, or type what was seen.`;
}

function take(storage) {
  try {
    const kept = JSON.parse(storage.getItem(KEY));
    storage.removeItem(KEY);
    return Array.isArray(kept) ? kept.map(String) : [];
  } catch {
    return [];
  }
}
