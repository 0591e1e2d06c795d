// What every page does: says so when the server did not answer, and leads to the sign-in page when the
// sign-in has run out, instead of showing that page inside a part of this one.

export function sentenceFor(status) {
  if (!status) return "The server did not answer. Nothing was stored; please try again.";
  if (status === 403) return "You may not do this, or the page is too old: load it again and try once more.";
  if (status === 404) return "That is no longer there. Load the page again.";
  if (status === 429) return "That was too often in a short time. Please wait a minute.";
  return "The server could not do this. Nothing was stored; please try again.";
}

export function leadsToSignIn(responseUrl, signInPath, base) {
  return Boolean(responseUrl && signInPath) && new URL(responseUrl, base).pathname === signInPath;
}

function say(sentence) {
  const line = document.createElement("p");
  line.className = "message error";
  line.textContent = sentence;
  document.getElementById("messages").replaceChildren(line);
}

if (typeof document !== "undefined") {
  document.addEventListener("htmx:responseError", (event) => say(sentenceFor(event.detail.xhr.status)));
  document.addEventListener("htmx:sendError", () => say(sentenceFor(0)));
  document.addEventListener("htmx:beforeSwap", (event) => {
    const { signIn } = document.body.dataset;
    if (location.pathname === signIn || !leadsToSignIn(event.detail.xhr.responseURL, signIn, location.href)) return;
    event.preventDefault();
    location.assign(`${signIn}?next=${encodeURIComponent(location.pathname)}`);
  });
}
