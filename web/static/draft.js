// A form that is half filled in is kept on this device until it is saved or left, so that an empty battery loses nothing. It
// is sealed under a key that the server gives only to its person, only while she is signed in, and that is kept nowhere
// here; whoever signs in next can neither read nor find it, and it goes when its person signs out, or after a day.
// @ts-check
'use strict';

const keepHours = 24;

/** @param {HTMLFormElement} form */
async function keepDraft(form) {
  const raw = form.dataset.draft ?? '';
  if (!raw || !globalThis.crypto?.subtle) return;
  const key = await crypto.subtle.importKey('raw', Uint8Array.from(atob(raw), (c) => c.charCodeAt(0)), 'AES-GCM', false, ['encrypt', 'decrypt']);
  const name = 'lowtide-draft:' + form.dataset.draftName;
  let left = false;
  let changed = false;

  const save = async () => {
    if (left || !changed) return;
    /** @type {[string, string][]} */
    const values = [];
    for (const [k, v] of new FormData(form)) if (typeof v === 'string') values.push([k, v]);
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const sealed = new Uint8Array(await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, new TextEncoder().encode(JSON.stringify({ at: Date.now(), values }))));
    if (left) return;
    try {
      localStorage.setItem(name, btoa(String.fromCharCode(...iv, ...sealed)));
    } catch {
      // A browser that keeps nothing keeps no draft.
    }
  };

  /** @returns {Promise<{at: number, values: [string, string][]} | null>} */
  const kept = async () => {
    const text = localStorage.getItem(name);
    if (!text) return null;
    try {
      const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
      const plain = await crypto.subtle.decrypt({ name: 'AES-GCM', iv: bytes.slice(0, 12) }, key, bytes.slice(12));
      const draft = JSON.parse(new TextDecoder().decode(plain));
      if (Date.now() - draft.at < keepHours * 3600_000) return draft;
    } catch {
      // What this key does not open is nobody's any more.
    }
    localStorage.removeItem(name);
    return null;
  };

  const drop = () => {
    changed = false;
    localStorage.removeItem(name);
  };

  /** @param {[string, string][]} values */
  const fill = (values) => {
    let lost = 0;
    for (const el of form.elements) if (el instanceof HTMLInputElement && (el.type === 'checkbox' || el.type === 'radio')) el.checked = false;
    for (const [k, v] of values) {
      const all = [...form.elements].filter((el) => /** @type {HTMLInputElement} */ (el).name === k);
      if (all.length === 0) lost++;
      for (const el of all) {
        if (el instanceof HTMLInputElement && (el.type === 'checkbox' || el.type === 'radio')) {
          if (el.value === v) el.checked = true;
        } else if (el instanceof HTMLInputElement || el instanceof HTMLTextAreaElement || el instanceof HTMLSelectElement) {
          el.value = v;
        }
        if (v) for (let up = el.parentElement; up && el instanceof HTMLElement && !(el instanceof HTMLInputElement && el.type === 'hidden'); up = up.parentElement) if (up instanceof HTMLDetailsElement && v !== '') up.open = true;
      }
    }
    return lost;
  };

  form.addEventListener('input', () => { changed = true; clearTimeout(timer); timer = setTimeout(save, 300); });
  let timer = 0;
  // What is sent is kept until a page says that it was saved: the session may have ended meanwhile.
  form.addEventListener('submit', () => {
    clearTimeout(timer);
    try {
      sessionStorage.setItem('lowtide-sent', JSON.stringify([...new Set([...JSON.parse(sessionStorage.getItem('lowtide-sent') ?? '[]'), name])]));
    } catch {
      // A browser that keeps nothing keeps no draft.
    }
    void save();
  });
  document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'hidden') void save(); });
  for (const a of form.querySelectorAll('.save a')) a.addEventListener('click', () => { left = true; drop(); });

  // A form that comes back with its problems is still the one that was sent; any other is begun anew.
  const back = document.querySelector('.problems') !== null;
  if (!back) sessionStorage.removeItem('lowtide-sent');
  const draft = back ? null : await kept();
  if (!draft) return;
  const box = document.createElement('div');
  box.className = 'said draft';
  box.setAttribute('role', 'status');
  const words = document.createElement('p');
  words.textContent = 'You began this at ' + new Date(draft.at).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' }) + ' and did not save it.';
  box.append(words);
  for (const [label, act] of /** @type {[string, () => void][]} */ ([
    ['Go on with it', () => { const lost = fill(draft.values); changed = true; box.textContent = lost > 0 ? 'Put back, but for ' + lost + ' values of rows that were added: look through it.' : 'Put back as it was typed.'; }],
    ['Throw it away', () => { drop(); box.remove(); }],
  ])) {
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'quiet';
    button.textContent = label;
    button.addEventListener('click', act);
    box.append(button);
  }
  form.before(box);
}

for (const form of document.querySelectorAll('form[data-draft]')) if (form instanceof HTMLFormElement) void keepDraft(form);
