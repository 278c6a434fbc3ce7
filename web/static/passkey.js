// Asks the device for a passkey, and sends its answer.
// @ts-check
'use strict';

/** @param {string} text base64url */
function bytes(text) {
  const plain = atob(text.replace(/-/g, '+').replace(/_/g, '/'));
  return Uint8Array.from(plain, (c) => c.charCodeAt(0));
}

/** @param {ArrayBuffer | null | undefined} buffer */
function text(buffer) {
  if (!buffer) return undefined;
  let s = '';
  for (const b of new Uint8Array(buffer)) s += String.fromCharCode(b);
  return btoa(s).replace(/\+/g, '-').replace(/\//g, '_').replace(/=+$/, '');
}

/** @param {string} path @param {unknown} body */
async function send(path, body) {
  const answer = await fetch(path, { method: 'POST', credentials: 'same-origin', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  const json = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(json.what ?? 'Lowtide did not answer. Try again.');
  return json;
}

/** @param {any} options @param {string} kind */
async function ask(options, kind) {
  const o = options.publicKey;
  o.challenge = bytes(o.challenge);
  for (const list of [o.allowCredentials, o.excludeCredentials]) for (const c of list ?? []) c.id = bytes(c.id);
  if (kind === 'create') o.user.id = bytes(o.user.id);
  const c = /** @type {any} */ (kind === 'create' ? await navigator.credentials.create({ publicKey: o }) : await navigator.credentials.get({ publicKey: o }));
  const r = c.response;
  return {
    id: c.id, rawId: text(c.rawId), type: c.type, authenticatorAttachment: c.authenticatorAttachment ?? undefined, clientExtensionResults: c.getClientExtensionResults(),
    response: kind === 'create'
      ? { clientDataJSON: text(r.clientDataJSON), attestationObject: text(r.attestationObject), transports: r.getTransports?.() ?? [] }
      : { clientDataJSON: text(r.clientDataJSON), authenticatorData: text(r.authenticatorData), signature: text(r.signature), userHandle: text(r.userHandle) },
  };
}

for (const form of document.querySelectorAll('form[data-passkey]')) {
  if (!(form instanceof HTMLFormElement)) continue;
  form.addEventListener('submit', async (event) => {
    event.preventDefault();
    const wrong = form.querySelector('[role=alert]');
    const button = form.querySelector('button');
    if (button) button.disabled = true;
    try {
      if (!window.PublicKeyCredential) throw new Error('This browser has no passkeys, or the address is not one that they work for.');
      const begun = await send(form.action + '/begin', {});
      const answer = await ask(begun.options, form.dataset.passkey ?? 'get');
      const done = await send(form.action + '/finish', { key: begun.key, answer, ...Object.fromEntries(new FormData(form)) });
      location.assign(done.to);
    } catch (error) {
      if (wrong instanceof HTMLElement) {
        wrong.textContent = error instanceof DOMException ? 'The passkey was not used. Try again, or take another way.' : String(error instanceof Error ? error.message : error);
        wrong.hidden = false;
      }
      if (button) button.disabled = false;
    }
  });
}
