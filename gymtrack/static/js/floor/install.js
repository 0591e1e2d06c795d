// Installs the board on the device, so that it opens without a network. Over plain http no browser allows that: then
// the open page keeps its outbox and clocks, and must not be reloaded.

const SCRIPT = "/sw.js";
const SCOPE = "/floor/";
const NOT_INSTALLED = "The board could not be kept on this tablet: it opens with a network only.";

/** Whether the browser keeps no pages for this address: plain http. */
export const isPlain = () => !globalThis.isSecureContext || !globalThis.navigator?.serviceWorker;

/**
 * Register the service worker and ask the browser to keep our data. Returns `{ plain, sentence, update }`. `onNews()`
 * is called when a newer version of the app stands ready; `update()` takes it over and loads the page again:
 * call it when nothing runs. The outbox is not touched by any of it. Over plain http the browser asks before it lets go
 * of the page while `isBusy()`.
 */
export async function install({ onNews = () => {}, isBusy = () => false } = {}) {
  if (isPlain()) {
    globalThis.addEventListener?.("beforeunload", (event) => isBusy() && event.preventDefault());
    return { plain: true, sentence: "", update: async () => {} };
  }
  void navigator.storage?.persist?.().catch(() => {});
  try {
    const registration = await navigator.serviceWorker.register(SCRIPT, { scope: SCOPE, updateViaCache: "none" });
    watch(registration, onNews);
    return { plain: false, sentence: "", update: () => takeOver(registration) };
  } catch {
    return { plain: false, sentence: NOT_INSTALLED, update: async () => {} };
  }
}

function watch(registration, onNews) {
  const look = () => registration.waiting && navigator.serviceWorker.controller && onNews();
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
  look();
}

async function takeOver(registration) {
  if (!registration.waiting) return;
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  registration.waiting.postMessage({ type: "take over" });
}
