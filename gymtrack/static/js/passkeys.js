// Passkeys (W3C Web Authentication): has the browser make one or answer with one, and posts what it says.
// A form with data-passkey="add" or "answer" finds its options in the JSON element that data-options names;
// with "sign-in" it asks its own address for them. Without a script such a form comes back with a sentence.

export function toBytes(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (sign) => sign.charCodeAt(0));
}

export function toText(buffer) {
  const plain = String.fromCharCode(...new Uint8Array(buffer));
  return btoa(plain).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

const named = (keys) => (keys ?? []).map((key) => ({ ...key, id: toBytes(key.id) }));

export function creationOptions(options, alone) {
  const { challenge, user, excludeCredentials, authenticatorSelection, ...rest } = options.publicKey;
  const must = { residentKey: "required", requireResidentKey: true, userVerification: "required" };
  return {
    publicKey: {
      ...rest,
      challenge: toBytes(challenge),
      user: { ...user, id: toBytes(user.id) },
      excludeCredentials: named(excludeCredentials),
      authenticatorSelection: { ...authenticatorSelection, ...(alone ? must : {}) },
    },
  };
}

export function requestOptions(options) {
  const { challenge, allowCredentials, ...rest } = options.publicKey;
  return { publicKey: { ...rest, challenge: toBytes(challenge), allowCredentials: named(allowCredentials) } };
}

const PARTS = ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"];

export function told(credential) {
  const parts = PARTS.filter((part) => credential.response[part]);
  const response = Object.fromEntries(parts.map((part) => [part, toText(credential.response[part])]));
  if (credential.response.getTransports) response.transports = credential.response.getTransports();
  return {
    id: credential.id,
    rawId: toText(credential.rawId),
    type: credential.type,
    authenticatorAttachment: credential.authenticatorAttachment ?? null,
    clientExtensionResults: credential.getClientExtensionResults(),
    response,
  };
}

export function sentenceFor(name) {
  if (name === "NotAllowedError") return "No passkey was used: it was cancelled, took too long, or there is none here.";
  if (name === "InvalidStateError") return "This device has a passkey for your account already.";
  if (name === "SecurityError") return "Browsers use passkeys only at an address that begins with https, or localhost.";
  if (name === "NoAnswer") return "The server did not answer. Please try again.";
  return "This browser could not do that. Try another one, or sign in with your password.";
}

async function optionsOf(form) {
  if (form.dataset.passkey !== "sign-in") return JSON.parse(document.getElementById(form.dataset.options).textContent);
  const answer = await fetch(form.action, { headers: { Accept: "application/json" } }).catch(() => null);
  if (!answer?.ok) throw new DOMException("", "NoAnswer");
  return (await answer.json()).request_options;
}

async function credentialOf(form) {
  const options = await optionsOf(form);
  if (form.dataset.passkey !== "add") return navigator.credentials.get(requestOptions(options));
  return navigator.credentials.create(creationOptions(options, form.elements.passwordless?.checked));
}

function serve(form) {
  const words = form.querySelector("[data-passkey-words]");
  const button = form.querySelector("button");
  if (!globalThis.PublicKeyCredential) {
    button.disabled = true;
    words.textContent = sentenceFor(globalThis.isSecureContext ? "" : "SecurityError");
    return;
  }
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    words.textContent = "Follow what your device asks.";
    button.disabled = true;
    try {
      form.elements.credential.value = JSON.stringify(told(await credentialOf(form)));
      form.submit();
    } catch (error) {
      words.textContent = sentenceFor(error.name);
      button.disabled = false;
    }
  });
}

if (typeof document !== "undefined") for (const form of document.querySelectorAll("form[data-passkey]")) serve(form);
