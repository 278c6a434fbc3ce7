// The service worker: it asks the server first, and where the server does not answer within a second it lets Lowtide itself
// answer, built for browsers and over what this phone keeps. The server puts a line before this script that says what
// belongs to this build.
// @ts-check
/// <reference lib="webworker" />
'use strict';

/**
 * @typedef {{mark: string, files: string[], wasm: string, loader: string, get: string[], post: string[], leave: string[]}} Build
 * @typedef {{state: string, account?: string, unsent?: number, refused?: number, since?: number, until?: number, sentence?: string}} Phone
 */
const worker = /** @type {ServiceWorkerGlobalScope & {lowtideBuild: Build, Go: any, lowtideReady: () => void, lowtideProgram: (r: object) => Promise<{status: number, headers: [string, string][], body: Uint8Array}>, lowtideDevice: (m: object) => Promise<Phone>, lowtideFirstKey: () => Promise<Uint8Array | null>, lowtideRest: () => Promise<void>, lowtideKeep: Function, lowtideKept: Function, lowtideDrop: Function}} */ (/** @type {unknown} */ (self));
const build = worker.lowtideBuild;
importScripts(build.loader);

/** How long the server may take, in milliseconds, before the phone answers; and how long it is not asked again after that. */
const patience = 1000;
const rest = 10_000;
/** How often the phone meets the server while a page is open, in milliseconds. */
const meetEvery = 5 * 60_000;

const answersGet = build.get.map((p) => new RegExp(p));
const answersPost = build.post.map((p) => new RegExp(p));

// --- What is known before the program runs: nothing of a patient but one page, sealed. -------------------------------

/** @type {Promise<IDBDatabase> | null} */
let first = null;

function firstBase() {
  first ??= new Promise((done, fail) => {
    const open = indexedDB.open('lowtide-first', 1);
    open.onupgradeneeded = () => open.result.createObjectStore('first');
    open.onsuccess = () => { open.result.onclose = () => { first = null; }; done(open.result); };
    open.onerror = () => { first = null; fail(open.error); };
  });
  return first;
}

/** @param {IDBTransactionMode} mode @param {(s: IDBObjectStore) => IDBRequest} act */
async function inFirst(mode, act) {
  const base = await firstBase();
  return new Promise((done, fail) => {
    const t = base.transaction('first', mode);
    const r = act(t.objectStore('first'));
    t.oncomplete = () => done(r.result);
    t.onabort = t.onerror = () => fail(t.error);
  });
}

/** @type {Phone | null} */
let phone = null;

/** What this phone is: it may be asked before the program runs. @returns {Promise<Phone>} */
async function known() {
  try {
    phone ??= (await inFirst('readonly', (s) => s.get('phone'))) ?? { state: 'none' };
  } catch {
    phone = { state: 'none' };
  }
  const p = /** @type {Phone} */ (phone);
  if (p.state === 'unlocked' && p.until && Date.now() > p.until) return note({ ...p, state: 'locked' });
  return p;
}

/** Keeps what the program said of the phone; what is only for an unlocked one goes when it is not. @param {Phone} p */
async function note(p) {
  phone = { state: p.state, account: p.account, unsent: p.unsent ?? 0, refused: p.refused ?? 0, since: p.since ?? 0, until: p.until ?? 0 };
  const kept = phone;
  await inFirst('readwrite', (s) => {
    if (kept.state !== 'unlocked') { s.delete('key'); s.delete('page'); s.delete('open'); }
    return s.put(kept, 'phone');
  }).catch(() => {});
  if (kept.state === 'unlocked') await keepKey();
  return kept;
}

/** Keeps the key of the first page where no script can read it. */
async function keepKey() {
  const raw = await worker.lowtideFirstKey?.();
  if (!raw) return;
  const key = await crypto.subtle.importKey('raw', /** @type {BufferSource} */ (raw), 'AES-GCM', false, ['encrypt', 'decrypt']);
  raw.fill(0);
  await inFirst('readwrite', (s) => s.put(key, 'key')).catch(() => {});
}

/** Keeps Rounds as it is, sealed, for the next opening. @param {Response} answer */
async function keepFirst(answer) {
  const key = await inFirst('readonly', (s) => s.get('key')).catch(() => undefined);
  if (!key) return;
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const sealed = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, await answer.arrayBuffer());
  await inFirst('readwrite', (s) => s.put({ iv, sealed, at: Date.now() }, 'page')).catch(() => {});
}

/** Rounds as it was kept, which says so. @returns {Promise<Response | null>} */
async function keptFirst() {
  try {
    const [key, page] = [await inFirst('readonly', (s) => s.get('key')), await inFirst('readonly', (s) => s.get('page'))];
    if (!key || !page) return null;
    const html = new TextDecoder().decode(await crypto.subtle.decrypt({ name: 'AES-GCM', iv: page.iv }, key, page.sealed));
    const words = 'As it was known ' + when(page.at) + '. Lowtide is working out what has changed since: do not go by it yet.';
    const at = html.indexOf('<main id="content"');
    const inside = html.indexOf('>', at) + 1;
    if (at < 0) return null;
    return pageOf(html.slice(0, inside) + '<p class="problems" role="status" id="kept">' + words + '</p>' + html.slice(inside), 200);
  } catch {
    return null;
  }
}

/** A time as a person says it. @param {number} ms */
function when(ms) {
  const d = new Date(ms);
  const clock = d.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  return d.toDateString() === new Date().toDateString() ? 'at ' + clock : 'on ' + d.toLocaleDateString('en-GB', { weekday: 'long', day: 'numeric', month: 'long' }) + ' at ' + clock;
}

// The key of an open list outlives this worker, which browsers stop after half a minute, but not the hours that the agency
// sets. It is kept under a key of the browser's own that no script can read. The program calls these.

/** @param {Uint8Array} raw @param {string} account @param {number} until */
worker.lowtideKeep = async (raw, account, until) => {
  const key = await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const sealed = await crypto.subtle.encrypt({ name: 'AES-GCM', iv }, key, /** @type {BufferSource} */ (raw));
  raw.fill(0);
  await inFirst('readwrite', (s) => s.put({ key, iv, sealed, account, until }, 'open'));
};

worker.lowtideKept = async () => {
  const open = await inFirst('readonly', (s) => s.get('open'));
  if (!open) return null;
  if (Date.now() > open.until) { await worker.lowtideDrop(); return null; }
  return { raw: new Uint8Array(await crypto.subtle.decrypt({ name: 'AES-GCM', iv: open.iv }, open.key, open.sealed)), account: open.account, until: open.until };
};

worker.lowtideDrop = () => inFirst('readwrite', (s) => { s.delete('key'); s.delete('page'); return s.delete('open'); });

// --- The program. ----------------------------------------------------------------------------------------------------

/** @type {Promise<void> | null} */
let started = null;
/** @type {Promise<never>} */
let ended = new Promise(() => {});

/** Starts the program, once: two of them over one store would not know of each other, so a new worker waits for the old. */
function start() {
  started ??= run().catch((e) => { started = null; throw e; });
  return started;
}

async function run() {
  await alone();
  const go = new worker.Go();
  const kept = await (await caches.open(build.mark)).match(build.wasm);
  const { instance } = await WebAssembly.instantiateStreaming(kept ?? fetch(build.wasm), go.importObject);
  const ready = new Promise((done) => { worker.lowtideReady = () => done(undefined); });
  ended = go.run(instance).then(() => { started = null; throw new Error('the program ended'); });
  ended.catch(() => {});
  await Promise.race([ready, ended]);
}

/** @type {Promise<void> | null} */
let lock = null;

function alone() {
  lock ??= new Promise((done) => { void navigator.locks.request('lowtide-program', () => { done(); return new Promise(() => {}); }); });
  return lock;
}

/** Asks the program about the phone, and keeps what it answers. @param {object} message */
async function ask(message) {
  await start();
  const answer = await Promise.race([worker.lowtideDevice(message), ended]);
  if ('phrase' in message) {
    message.phrase = '';
    void worker.lowtideRest().catch(() => {}); // a list was begun or opened
  }
  await note(answer);
  return answer;
}

/** @type {Promise<Phone> | null} */
let meeting = null;
let met = 0;

/** Meets the server, once at a time. */
function meet() {
  meeting ??= ask({ do: 'meet' }).finally(() => { meeting = null; met = Date.now(); void worker.lowtideRest?.().catch(() => {}); });
  return meeting;
}

// --- Answering. ------------------------------------------------------------------------------------------------------

/** Until when the server is not asked first, because it did not answer a moment ago. */
let away = 0;

/** @template T @param {Promise<T>} what @param {number} ms @returns {Promise<T | null>} */
function within(what, ms) {
  return Promise.race([what.catch(() => null), new Promise((done) => setTimeout(done, ms, null))]);
}

/** The server's answer; null when it has none in time. @param {Request} request */
async function server(request) {
  if (Date.now() < away) {
    void fetch(build.files[0], { method: 'HEAD', cache: 'no-store' }).then(() => { away = 0; }, () => {});
    return null;
  }
  const answer = await within(fetch(request), patience);
  // A proxy answers for a server that is not there.
  if (answer && ![502, 503, 504].includes(answer.status)) return answer;
  away = Date.now() + rest;
  return null;
}

/** @param {FetchEvent} event @param {URL} url */
async function get(event, url) {
  const p = await known();
  const mine = answersGet.some((r) => r.test(url.pathname));
  if (p.state === 'none') return (await fetch(event.request).catch(() => null)) ?? nothing(p);
  // What waits here is not on the server yet: her own entries come first.
  if (p.state === 'unlocked' && p.unsent && mine) {
    const now = await within(meet(), patience);
    if (!now || now.unsent) return device(event, url, null);
  }
  // What the phone cannot make is worth waiting for.
  const answer = mine ? await server(event.request) : await fetch(event.request).catch(() => null);
  if (!answer) return device(event, url, null);
  const who = answer.headers.get('Lowtide-Person');
  if (who && p.state === 'unlocked' && p.account && who !== p.account) event.waitUntil(ask({ do: 'lock' }));
  if (who && who === p.account && p.state === 'unlocked') {
    if (url.pathname === '/' && url.search === '' && answer.status === 200) event.waitUntil(keepFirst(answer.clone()));
    if (Date.now() - met > meetEvery) event.waitUntil(meet().catch(() => {}));
  }
  return answer;
}

/** @param {FetchEvent} event @param {URL} url */
async function post(event, url) {
  const p = await known();
  const body = await event.request.clone().arrayBuffer();
  if (p.state === 'none') return fetch(event.request);
  if (!p.unsent) {
    const headers = new Headers(event.request.headers);
    // A form has its own mark, so that both may have taken it: it is kept once.
    const cut = new AbortController();
    const answer = await server(new Request(event.request.url, { method: 'POST', headers, body, redirect: 'manual', credentials: 'same-origin', referrer: event.request.referrer, signal: cut.signal }));
    if (answer) return answer;
    cut.abort();
  }
  const answer = await device(event, url, body);
  event.waitUntil((async () => {
    await ask({ do: 'state' });
    await meet();
  })().catch(() => wakeLater()));
  return answer;
}

/** Asks the browser to wake this worker when there is a network again, where it can. */
async function wakeLater() {
  await /** @type {any} */ (worker.registration).sync?.register('meet').catch(() => {});
}

/** The program's answer. @param {FetchEvent} event @param {URL} url @param {ArrayBuffer | null} body */
async function device(event, url, body) {
  const r = event.request;
  const p = await known();
  const fresh = r.headers.has('Lowtide-Fresh');
  if (p.state === 'unlocked' && !body && url.pathname === '/' && url.search === '' && !fresh && !ready) {
    const kept = await keptFirst();
    if (kept) {
      event.waitUntil(start().catch(() => {}));
      return kept;
    }
  }
  try {
    await start();
    ready = true;
    const headers = [...r.headers];
    // A worker does not see who sends a form; the page that it stands on says so.
    if (r.referrer) headers.push(['Origin', new URL(r.referrer).origin]);
    const a = await Promise.race([worker.lowtideProgram({ method: r.method, url: r.url, headers, body: body ? new Uint8Array(body) : null }), ended]);
    const answer = new Response([101, 204, 205, 304, 303].includes(a.status) ? null : /** @type {BodyInit} */ (a.body), { status: a.status, headers: a.headers });
    if (p.state === 'unlocked' && !body && url.pathname === '/' && url.search === '' && a.status === 200) event.waitUntil(Promise.all([keepFirst(answer.clone()), worker.lowtideRest().catch(() => {})]));
    return answer;
  } catch (e) {
    ready = false;
    console.error(e);
    return pageOf(plain('This phone could not make the page.', 'What you saved before is kept. Go back and try again; if it happens again, write on paper, and tell whoever looks after Lowtide.'), 500);
  }
}
let ready = false;

/** What there is to say where no list is kept. @param {Phone} p */
function nothing(p) {
  return pageOf(plain('The server does not answer.', (p.sentence ?? 'No list is kept on this phone.') + ' Try again when there is a network. Write on paper until then.'), 503);
}

/** @param {string} what @param {string} next */
function plain(what, next) {
  const css = build.files.find((f) => f.endsWith('/lowtide.css')) ?? '';
  return '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>' + what + ' - Lowtide</title><link rel="stylesheet" href="' + css + '"></head><body><header class="top"><span class="name">Lowtide</span></header><main id="content"><h1>' + what + '</h1><p>' + next + '</p><p><a class="button" href="/">Rounds</a></p></main></body></html>';
}

/** @param {string} html @param {number} status */
function pageOf(html, status) {
  return new Response(html, { status, headers: {
    'Content-Type': 'text/html; charset=utf-8', 'Cache-Control': 'no-store', 'X-Content-Type-Options': 'nosniff', 'Referrer-Policy': 'same-origin',
    'Content-Security-Policy': "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
  } });
}

/** A file that comes with the program. @param {Request} request */
async function file(request) {
  return (await (await caches.open(build.mark)).match(request)) ?? fetch(request);
}

/** @param {FetchEvent} event */
async function leave(event) {
  const p = await known();
  if (p.state === 'unlocked') await within(ask({ do: 'lock' }), 10 * patience);
  return (await fetch(event.request).catch(() => null)) ?? Response.redirect('/', 303);
}

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === 'GET') {
    if (url.pathname.startsWith('/static/')) event.respondWith(file(request));
    else if (request.mode === 'navigate' || answersGet.some((r) => r.test(url.pathname))) event.respondWith(get(event, url));
    return;
  }
  // A form of another site goes to the server as it is, which refuses it.
  if (request.method !== 'POST' || !request.referrer.startsWith(location.origin + '/')) return;
  if (build.leave.includes(url.pathname)) event.respondWith(leave(event));
  else if (answersPost.some((r) => r.test(url.pathname))) event.respondWith(post(event, url));
});

worker.addEventListener('message', (event) => {
  const [port] = event.ports;
  event.waitUntil((async () => {
    /** @type {any} */
    let answer;
    try {
      if (event.data.do === 'word') {
        answer = await known();
        if (answer.state === 'unlocked' && (answer.unsent || Date.now() - met > meetEvery) && Date.now() >= away) event.waitUntil(meet().catch(() => {}));
      } else {
        answer = await ask(event.data);
      }
    } catch (e) {
      console.error(e);
      answer = { state: 'failed', sentence: 'Lowtide could not start on this phone. Try again with a network.' };
    }
    port?.postMessage(answer);
  })());
});

worker.addEventListener('sync', (event) => {
  const e = /** @type {ExtendableEvent} */ (event);
  e.waitUntil(meet());
});

// A new build keeps its own files, takes over at once, and lets the old ones go. What was written is in the phone's store,
// not in a worker.
worker.addEventListener('install', (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(build.mark);
    await cache.addAll([...build.files, build.wasm]);
    await worker.skipWaiting();
  })());
});

worker.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== build.mark) await caches.delete(name);
    await worker.clients.claim();
  })());
});
