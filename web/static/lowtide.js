// Lowtide's own small script. Every page works without it: it only saves steps.
// @ts-check
'use strict';

/** Buttons for one more and one less beside a count. An empty count stays empty until somebody counts. */
function steps() {
  for (const input of document.querySelectorAll('input[data-step]')) {
    if (!(input instanceof HTMLInputElement)) continue;
    const box = document.createElement('span');
    box.className = 'steps';
    for (const [by, sign, words] of /** @type {[number, string, string][]} */ ([[-1, '−', 'One less'], [1, '+', 'One more']])) {
      const button = document.createElement('button');
      button.type = 'button';
      button.className = 'quiet';
      button.textContent = sign;
      button.setAttribute('aria-label', words + ': ' + (input.dataset.step ?? ''));
      button.addEventListener('click', () => {
        const now = Number.parseInt(input.value, 10);
        input.value = String(Math.max(0, (Number.isNaN(now) ? 0 : now) + by));
        input.dispatchEvent(new Event('input', { bubbles: true }));
      });
      box.append(button);
    }
    input.parentElement?.append(box);
  }
}

/** "None of these" and a sign exclude each other. */
function noneOrSome() {
  document.addEventListener('change', (event) => {
    const box = event.target;
    if (!(box instanceof HTMLInputElement) || box.type !== 'checkbox' || !box.checked || !box.form) return;
    const same = [...box.form.querySelectorAll('input[type=checkbox]')].filter((x) => x instanceof HTMLInputElement && x.name === box.name);
    for (const other of /** @type {HTMLInputElement[]} */ (same)) {
      if (other !== box && (box.value === 'none' || other.value === 'none')) other.checked = false;
    }
  });
}

/**
 * Moves what belongs to one row to another row number.
 * @param {Element} row @param {string} from @param {string} to
 */
function renumber(row, from, to) {
  for (const el of row.querySelectorAll('*')) {
    for (const name of ['name', 'id', 'for', 'list', 'data-rows', 'value', 'aria-describedby']) {
      const v = el.getAttribute(name);
      if (v === null || (name === 'value' && el.getAttribute('name') !== '-more')) continue;
      const next = v.split(' ').map((part) => part.replace(from, to)).join(' ');
      if (next !== v) el.setAttribute(name, next);
    }
  }
}

/** "One more" adds a row here; without the script the server sends the form back with one. */
function addRows() {
  document.addEventListener('click', (event) => {
    const button = event.target;
    if (!(button instanceof HTMLButtonElement) || button.name !== '-more') return;
    const set = button.closest('[data-rows]');
    const rows = set ? [...set.children].filter((x) => x.classList.contains('rowOf')) : [];
    const last = rows[rows.length - 1];
    const pointer = set?.getAttribute('data-rows');
    if (!last || !pointer || rows.length > 11) return;
    event.preventDefault();
    const row = /** @type {Element} */ (last.cloneNode(true));
    renumber(row, pointer + '/' + (rows.length - 1) + '/', pointer + '/' + rows.length + '/');
    row.setAttribute('aria-label', (row.getAttribute('aria-label') ?? '').replace(/\d+$/, String(rows.length + 1)));
    for (const wrong of row.querySelectorAll('.problem')) wrong.remove();
    for (const field of row.querySelectorAll('.wrong')) field.classList.remove('wrong');
    for (const el of row.querySelectorAll('input, select, textarea')) {
      if (el instanceof HTMLInputElement && (el.type === 'checkbox' || el.type === 'radio')) el.checked = el.type === 'radio' && el.value === '';
      else if (el instanceof HTMLSelectElement) el.selectedIndex = 0;
      else if ((el instanceof HTMLInputElement && el.type !== 'hidden') || el instanceof HTMLTextAreaElement) el.value = '';
      el.removeAttribute('aria-invalid');
    }
    last.after(row);
    const first = row.querySelector('input:not([type=hidden]), select, textarea');
    if (first instanceof HTMLElement) first.focus();
  });
}

/** A link to a field opens the folded part that holds it. */
function openTarget() {
  const open = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    for (let el = target?.parentElement; el; el = el.parentElement) {
      if (el instanceof HTMLDetailsElement) el.open = true;
    }
    if (target && target.closest('.form')) target.focus();
  };
  addEventListener('hashchange', open);
  if (location.hash) open();
}

/** Asks before a form that was changed is left without saving. */
function guard() {
  for (const form of document.querySelectorAll('form[data-guard]')) {
    let changed = document.querySelector('.problems') !== null;
    form.addEventListener('input', () => { changed = true; });
    form.addEventListener('submit', () => { changed = false; });
    addEventListener('beforeunload', (event) => {
      if (changed) event.preventDefault();
    });
  }
}

/** Light and dark change where they are chosen: a form that is half filled in stays. */
function look() {
  document.addEventListener('submit', (event) => {
    const form = event.target;
    const button = event.submitter;
    const night = document.getElementById('night');
    if (!(form instanceof HTMLFormElement) || !form.classList.contains('look') || !(button instanceof HTMLButtonElement) || !(night instanceof HTMLLinkElement)) return;
    event.preventDefault();
    for (const b of form.querySelectorAll('button')) b.setAttribute('aria-pressed', String(b === button));
    night.media = { light: 'not all', dark: 'screen' }[button.value] ?? 'screen and (prefers-color-scheme: dark)';
    document.querySelector('meta[name=color-scheme]')?.setAttribute('content', button.value === 'device' ? 'light dark' : button.value);
    void fetch(form.action, { method: 'POST', body: new URLSearchParams({ look: button.value }), redirect: 'manual' });
  });
}

/** Asks the phone's own worker. @param {ServiceWorker} worker @param {object} message @returns {Promise<any>} */
function askWorker(worker, message) {
  return new Promise((done) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => done(event.data);
    worker.postMessage(message, [port2]);
  });
}

/** Where this phone keeps a list, the header says how far it is, and its worker is kept awake while the page is in sight. */
async function aboard() {
  if (!('serviceWorker' in navigator) || !await navigator.serviceWorker.getRegistration()) return;
  void navigator.serviceWorker.register('/worker.js', { updateViaCache: 'none' }).catch(() => {});
  const say = async () => {
    const { active } = await navigator.serviceWorker.ready;
    if (!active || document.visibilityState !== 'visible') return;
    const phone = await askWorker(active, { do: 'word' });
    const word = document.getElementById('aboard');
    if (!word || !['unlocked', 'locked'].includes(phone.state)) return;
    const since = phone.since ? ' since ' + new Date(phone.since).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' }) : '';
    const unsent = phone.unsent ? ', ' + phone.unsent + (phone.unsent === 1 ? ' entry to send' : ' entries to send') : '';
    const refused = phone.refused ? ', ' + phone.refused + ' that the server did not take' : '';
    word.textContent = (phone.state === 'locked' ? 'On this phone, locked' : 'On this phone' + since) + unsent + refused;
    word.hidden = false;
  };
  void say();
  setInterval(() => void say(), 20_000);
}

/** Rounds that was kept is replaced as soon as it is worked out anew. */
async function anew() {
  const kept = document.getElementById('kept');
  if (!kept) return;
  try {
    const answer = await fetch(location.href, { headers: { 'Lowtide-Fresh': '1' } });
    if (!answer.ok) throw new Error(String(answer.status));
    const fresh = new DOMParser().parseFromString(await answer.text(), 'text/html');
    document.body.replaceWith(document.adoptNode(fresh.body));
    document.title = fresh.title;
  } catch {
    kept.textContent = (kept.textContent ?? '').replace(/Lowtide is working.*/, '') + 'Lowtide could not work it out anew. Do not go by it; open the case, or ask.';
  }
}

steps();
look();
void anew().then(aboard);
noneOrSome();
addRows();
openTarget();
guard();
