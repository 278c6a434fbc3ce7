// The key of the list on a phone: opened by a passkey, dropped when the phone is lost or was alone for too long.
// @ts-check
import assert from 'node:assert/strict';
import { after, test } from 'node:test';
import { Browser, follow, phone } from './lowtide.mjs';
import { Served, password } from './served.mjs';

const phrase = 'green boats under quiet bridges';

/** @type {(() => unknown)[]} */
const ends = [];
after(async () => { for (const end of ends.reverse()) await end(); });

/** @param {import('playwright-core').Page} page @param {string} origin */
async function signIn(page, origin) {
  await page.goto(origin + '/sign-in');
  await page.getByLabel('Sign-in name').fill('m.holt');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Sign in', exact: true }).first().click());
}

/** A phone whose list is kept. @param {(page: import('playwright-core').Page, origin: string) => Promise<void>} [before] */
async function start(before) {
  const served = await Served.start();
  const browser = await Browser.start(phone);
  ends.push(() => served.stop(), () => browser.stop());
  const page = browser.context.pages()[0];
  page.setDefaultTimeout(60_000);
  const path = await served.begin(page);
  await signIn(page, served.origin);
  if (before) await before(page, served.origin);
  await page.goto(served.origin + '/phone');
  await page.locator('#begin-phrase').fill(phrase);
  await page.locator('#begin-again').fill(phrase);
  await page.locator('[data-do=begin] button').click();
  await page.locator('[data-do=lock]').waitFor();
  return { served, browser, page, path, origin: served.origin };
}

/** What the phone keeps beside the entries, by the names of its notes. @param {import('playwright-core').Page} page @param {string} change a function of the notes' object store, as text */
function notes(page, change) {
  return page.evaluate(async (text) => {
    const base = (await indexedDB.databases()).find((d) => d.name?.startsWith('lowtide-phone-'))?.name ?? '';
    return await new Promise((done, fail) => {
      const open = indexedDB.open(base);
      open.onerror = () => fail(open.error);
      open.onsuccess = () => {
        const t = open.result.transaction('notes', 'readwrite');
        const store = t.objectStore('notes');
        const names = store.getAllKeys();
        const outbox = store.get('outbox');
        outbox.onsuccess = () => {
          const o = JSON.parse(new TextDecoder().decode(outbox.result));
          if (text) store.put(new TextEncoder().encode(JSON.stringify({ ...o, ...JSON.parse(text) })), 'outbox');
        };
        t.oncomplete = () => { open.result.close(); done(names.result); };
      };
    });
  }, change);
}

/** Lets the phone meet the server, as it does by itself every few minutes. @param {import('playwright-core').Page} page @returns {Promise<any>} */
function meet(page) {
  return page.evaluate(async () => {
    const { active } = await navigator.serviceWorker.ready;
    return await new Promise((done) => { const c = new MessageChannel(); c.port1.onmessage = (e) => done(e.data); active?.postMessage({ do: 'meet' }, [c.port2]); });
  });
}

/** The note is written while the server is away. @param {Awaited<ReturnType<typeof start>>} s @param {string} words */
async function writeAlone(s, words) {
  await s.page.goto(s.origin + s.path + '/add/note.written');
  await s.page.locator('[name=text]').fill(words);
  await follow(s.page, () => s.page.locator('.save button').first().click());
  assert.match(await s.page.locator('.aboard').first().textContent() ?? '', /to send/);
}

test('a passkey opens the list, and its secret never leaves the browser', { timeout: 300_000 }, async () => {
  /** @type {string[]} */
  const posted = [];
  const s = await start(async (page, origin) => {
    const cdp = await page.context().newCDPSession(page);
    await cdp.send('WebAuthn.enable');
    await cdp.send('WebAuthn.addVirtualAuthenticator', { options: { protocol: 'ctap2', ctap2Version: 'ctap2_1', transport: 'internal', hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true, hasPrf: true } });
    await page.goto(origin + '/again?to=/me');
    await page.getByLabel(/Password of/).fill(password);
    await follow(page, () => page.getByRole('button', { name: 'Go on' }).click());
    await page.getByLabel('What holds it').fill('my phone');
    await follow(page, () => page.getByRole('button', { name: 'Add a passkey' }).click());
    await page.waitForURL(/done=passkey/);
  });
  const { page } = s;
  s.browser.context.on('request', (r) => { posted.push(r.url() + ' ' + (r.postData() ?? '')); });
  await page.locator('[data-do=passkey] button').click();
  await page.waitForFunction(() => !document.querySelector('[data-do=passkey] button')?.hasAttribute('disabled'));
  assert.equal(await page.locator('#phone-problem').innerText(), '');
  await page.locator('[data-do=lock] button').click();
  await page.locator('[data-passkey=open] button').waitFor();
  await page.locator('[data-passkey=open] button').click();
  await page.locator('[data-do=lock]').waitFor();
  await page.goto(s.origin + s.path);
  assert.match(await page.locator('body').innerText(), /Ann Eastham/);
  for (const r of posted) assert.doesNotMatch(r, /secret|phrase|prf/i);
});

test('a phone that was reported lost forgets everything, with nobody signed in on it; nothing of it is taken', { timeout: 300_000 }, async () => {
  const s = await start();
  const { page } = s;
  const other = await Browser.start(phone);
  ends.push(() => other.stop());
  const desk = other.context.pages()[0];
  await signIn(desk, s.origin);
  await desk.goto(s.origin + '/me');
  await desk.locator('form[action="/me/phone"]', { hasText: 'It is lost' }).getByLabel('Why').fill('left in a bus');
  await follow(desk, () => desk.getByRole('button', { name: 'It is lost' }).click());
  assert.match(await desk.locator('main').innerText(), /lost: it forgets everything/);
  await page.context().clearCookies();
  await page.goto(s.origin + '/sign-in');
  assert.equal((await meet(page)).state, 'lost');
  const names = /** @type {string[]} */ (await notes(page, ''));
  assert.deepEqual(names, ['outbox']);
});

test('a phone that was alone for three days forgets everything but what waits, which can still be sent and not be read', { timeout: 300_000 }, async () => {
  const s = await start();
  const { page } = s;
  await s.served.end('SIGKILL');
  await writeAlone(s, 'Written in the valley.');
  await page.goto(s.origin + '/phone');
  await page.locator('[data-do=lock] button').click();
  await page.locator('[data-do=unlock]').first().waitFor();
  await notes(page, JSON.stringify({ met: new Date(Date.now() - 73 * 3_600_000).toISOString() }));
  await page.goto(s.origin + '/phone');
  await page.getByText('can no longer be opened').waitFor();
  const names = /** @type {string[]} */ (await notes(page, ''));
  assert.equal(names.length, 2, names.join(' '));
  assert.ok(names.every((n) => n === 'outbox' || n.startsWith('out/entry/')), names.join(' '));
  const port = String(new URL(s.origin).port);
  const again = await Served.start(s.served.dir, port);
  ends.push(() => again.stop());
  await page.waitForTimeout(11_000);
  await signIn(page, s.origin);
  await page.goto(s.origin + '/phone');
  await meet(page);
  assert.deepEqual(await notes(page, ''), ['outbox']);
  const other = await Browser.start(phone);
  ends.push(() => other.stop());
  const second = other.context.pages()[0];
  await signIn(second, s.origin);
  await second.goto(s.origin + s.path + '/log');
  assert.equal((await second.locator('main').innerText()).split('Written in the valley.').length - 1, 1);
});
