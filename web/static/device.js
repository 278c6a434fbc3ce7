// The page about the phone in one's hand. A phrase goes from here to the phone's own worker and nowhere else: it is never
// part of a request.
// @ts-check
'use strict';

const problem = /** @type {HTMLElement} */ (document.getElementById('phone-problem'));
const now = /** @type {HTMLElement} */ (document.getElementById('phone-now'));

/** @param {object} message @returns {Promise<any>} */
async function tell(message) {
  const { active } = await navigator.serviceWorker.ready;
  return new Promise((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => done(event.data);
    active?.postMessage(message, [port2]);
  });
}

/** @param {number} n @param {string} one @param {string} many */
const count = (n, one, many) => n === 1 ? '1 ' + one : n + ' ' + many;
/** @param {number} ms */
const clock = (ms) => new Date(ms).toLocaleString('en-GB', { weekday: 'long', hour: '2-digit', minute: '2-digit' });

/** @param {string} text base64 or base64url */
const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, '+').replace(/_/g, '/')), (c) => c.charCodeAt(0));
/** @param {ArrayBuffer | Uint8Array} buffer */
const base64 = (buffer) => btoa(String.fromCharCode(...new Uint8Array(buffer)));

/** The passkeys that open a list here. @type {{id: string, salt: string}[]} */
let locks = [];

/**
 * What a passkey gives for a salt: the PRF extension of Web Authentication. The secret goes to the phone's own worker alone.
 * @param {string} how "open" or "add"
 */
async function secretOf(how) {
  const salt = crypto.getRandomValues(new Uint8Array(32));
  /** @type {any} */
  const publicKey = { challenge: crypto.getRandomValues(new Uint8Array(32)), userVerification: 'required', extensions: { prf: { eval: { first: salt } } } };
  if (how === 'open') {
    publicKey.allowCredentials = locks.map((l) => ({ type: 'public-key', id: bytes(l.id) }));
    publicKey.extensions.prf = { evalByCredential: Object.fromEntries(locks.map((l) => [l.id, { first: bytes(l.salt) }])) };
  }
  const c = /** @type {any} */ (await navigator.credentials.get({ publicKey }));
  const first = c.getClientExtensionResults().prf?.results?.first;
  if (!first) throw new Error('This passkey cannot open a list. Take your phrase, or another passkey.');
  return { id: c.id, salt: base64(salt), secret: base64(first) };
}

/** @param {any} phone */
function show(phone) {
  locks = phone.locks ?? [];
  for (const form of document.querySelectorAll('form[data-passkey]')) {
    if (form instanceof HTMLElement) form.hidden = !globalThis.PublicKeyCredential || form.dataset.passkey === 'open' && locks.length === 0;
  }
  for (const part of document.querySelectorAll('[data-phone]')) {
    if (part instanceof HTMLElement) part.hidden = !(part.dataset.phone ?? '').split(' ').includes(phone.state);
  }
  const waits = phone.unsent ? ' ' + count(phone.unsent, 'entry waits', 'entries wait') + ' to be sent.' : '';
  now.textContent = ({
    none: 'No list is kept on this phone.',
    locked: 'Your list is on this phone, and locked.' + waits,
    unlocked: 'Your list is on this phone' + (phone.since ? ', as the server knew it on ' + clock(phone.since) : '') + '.' + waits + (phone.until ? ' It locks by itself on ' + clock(phone.until) + '.' : ''),
    lost: 'This phone was reported lost. Its list cannot be opened any more.' + waits,
    dropped: 'The list on this phone can no longer be opened: it was out of reach of the server for too long.' + waits,
  })[/** @type {string} */ (phone.state)] ?? 'Lowtide could not look at this phone.';
  problem.hidden = !phone.sentence;
  problem.textContent = phone.sentence ?? '';
  const refused = /** @type {HTMLElement} */ (document.getElementById('phone-refused'));
  const list = phone.list ?? [];
  refused.hidden = list.length === 0;
  refused.querySelector('ul')?.replaceChildren(...list.map((/** @type {any} */ x) => {
    const li = document.createElement('li');
    const words = document.createElement('b');
    words.textContent = x.words;
    li.append(words, ' ' + x.sentence);
    return li;
  }));
}

/** What this browser promises about keeping things. */
async function promise() {
  const words = /** @type {HTMLElement} */ (document.getElementById('phone-promise'));
  const installed = matchMedia('(display-mode: standalone)').matches;
  /** @type {HTMLElement} */ (document.getElementById('phone-install')).hidden = installed;
  const kept = await navigator.storage?.persisted?.().catch(() => false);
  const room = await navigator.storage?.estimate?.().catch(() => null);
  const used = room?.quota ? ' Used: ' + Math.ceil((room.usage ?? 0) / 1e6) + ' of ' + Math.floor(room.quota / 1e6) + ' MB.' : '';
  const full = room?.quota && (room.usage ?? 0) > 0.8 * room.quota ? ' There is little room left: send what waits, and make room on this phone.' : '';
  // Only browsers on WebKit's own engine forget so; all on an iPhone are.
  const forgets = !installed && /AppleWebKit/.test(navigator.userAgent) && !/Chrome|Chromium/.test(navigator.userAgent);
  words.textContent = (kept ? 'This browser has promised to keep it.'
    : forgets ? 'This browser throws away what a page keeps when it was not opened for seven days, unless it is installed. Install Lowtide, or send what you wrote within the week.'
      : 'This browser has not promised to keep it: when it needs room it may throw it away. In a private window everything is gone when the window is closed. Send what you wrote the same day, and install Lowtide.') + used + full;
}

async function begin() {
  if (!('serviceWorker' in navigator) || !('indexedDB' in globalThis)) {
    now.textContent = 'This window cannot keep anything: it is a private one, the address is not safe (https), or the browser is too old. Lowtide works here only with the network.';
    return;
  }
  try {
    await navigator.serviceWorker.register('/worker.js', { updateViaCache: 'none' });
  } catch {
    if (!await navigator.serviceWorker.getRegistration()) {
      now.textContent = 'This window cannot keep anything: it is a private one, or this server hands out no program for phones. Lowtide works here only with the network.';
      return;
    }
  }
  now.textContent = 'Getting Lowtide ready for this phone. The first time this takes up to a minute.';
  show(await tell({ do: 'state' }));
  await promise();
}

document.addEventListener('submit', (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !form.dataset.do) return;
  event.preventDefault();
  void (async () => {
    const what = form.dataset.do;
    const data = new FormData(form);
    const phrase = String(data.get('phrase') ?? '');
    if (what === 'begin' && phrase !== data.get('again')) {
      problem.textContent = 'The two phrases differ. Type the same one twice.';
      problem.hidden = false;
      return;
    }
    if (what === 'begin') await navigator.storage?.persist?.().catch(() => false);
    const buttons = [...document.querySelectorAll('main button')];
    for (const b of buttons) if (b instanceof HTMLButtonElement) b.disabled = true;
    now.textContent = { begin: 'Making the key, then fetching your list.', unlock: 'Opening.', meet: 'Sending and fetching.' }[what ?? ''] ?? now.textContent;
    /** @type {any} */
    const message = { do: what };
    if (phrase) message.phrase = phrase;
    if (form.dataset.sure) message.sure = true;
    /** @type {any} */
    let answer;
    try {
      if (form.dataset.passkey) Object.assign(message, await secretOf(form.dataset.passkey));
      answer = await tell(message);
    } catch (e) {
      answer = { ...await tell({ do: 'state' }), sentence: e instanceof DOMException ? 'The passkey was not used. Try again, or take your phrase.' : String(e instanceof Error ? e.message : e) };
    }
    for (const b of buttons) if (b instanceof HTMLButtonElement) b.disabled = false;
    for (const field of form.querySelectorAll('input')) field.value = '';
    // Asked a second time, with the sentence read, it is meant.
    if (what === 'forget' && answer.sentence) form.dataset.sure = '1';
    if (answer.prove) {
      location.href = '/again?to=/phone';
      return;
    }
    show(answer);
    await promise();
    if (what === 'unlock' && answer.state === 'unlocked' && location.pathname !== '/phone' && !document.querySelector('main form[method=post]')) location.reload();
  })();
});

void begin();
