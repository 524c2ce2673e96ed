// Makes or uses a passkey on a press, and sends what the browser answers with the form. All words are the page's.
//
// A form with data-passkey ("make" or "use") holds what to ask for in data-options, an input named "answer" or "passkey",
// and lines that are shown when the browser cannot ([data-cannot]) or when nothing came of it ([data-failed]).

const form = document.querySelector("[data-passkey]");

function bytes(text) {
  const plain = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(plain, (sign) => sign.charCodeAt(0));
}

function text(buffer) {
  const plain = String.fromCharCode(...new Uint8Array(buffer));
  return btoa(plain).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

function listed(credentials) {
  return (credentials ?? []).map((one) => ({ ...one, id: bytes(one.id) }));
}

async function make(options) {
  const asked = {
    ...options,
    challenge: bytes(options.challenge),
    user: { ...options.user, id: bytes(options.user.id) },
    excludeCredentials: listed(options.excludeCredentials),
  };
  const made = await navigator.credentials.create({ publicKey: asked });
  const { clientDataJSON, attestationObject } = made.response;
  return said(made, { clientDataJSON: text(clientDataJSON), attestationObject: text(attestationObject) });
}

async function use(options) {
  const asked = { ...options, challenge: bytes(options.challenge), allowCredentials: listed(options.allowCredentials) };
  const signed = await navigator.credentials.get({ publicKey: asked });
  const { clientDataJSON, authenticatorData, signature } = signed.response;
  return said(signed, {
    clientDataJSON: text(clientDataJSON),
    authenticatorData: text(authenticatorData),
    signature: text(signature),
  });
}

function said(credential, response) {
  return JSON.stringify({ id: credential.id, rawId: text(credential.rawId), type: credential.type, response });
}

if (form) {
  const possible = Boolean(window.isSecureContext && navigator.credentials && window.PublicKeyCredential);
  form.querySelector("[data-cannot]").hidden = possible;
  const button = form.querySelector("button");
  button.disabled = !possible;
  form.addEventListener("submit", async (event) => {
    const answer = form.querySelector("[data-answer]");
    if (answer.value) return;
    event.preventDefault();
    form.querySelector("[data-failed]").hidden = true;
    button.disabled = true;
    try {
      const options = JSON.parse(form.dataset.options);
      answer.value = await (form.dataset.passkey === "make" ? make(options) : use(options));
      form.submit();
    } catch {
      form.querySelector("[data-failed]").hidden = false;
      button.disabled = false;
    }
  });
}
