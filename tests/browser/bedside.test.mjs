// At the bedside without a network: the list on a phone, in a real browser, with the server stopped, cut off and killed.
// @ts-check
import assert from 'node:assert/strict';
import { readFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { after, test } from 'node:test';
import { Line, keep, phrase } from './bedside.mjs';
import { Browser, follow, overflow, phone, violations } from './lowtide.mjs';
import { Served, password } from './served.mjs';

const source = join(import.meta.dirname, '../..');

/** @param {import('playwright-core').Page} page */
const main = (page) => page.locator('main').innerText();

/** @param {import('playwright-core').Page} page @param {string} origin @param {string} [who] */
async function signIn(page, origin, who = 'm.holt') {
  await page.goto(origin + '/sign-in');
  await page.getByLabel('Sign-in name').fill(who);
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Sign in' }).first().click());
}

/** Writes a note. @param {import('playwright-core').Page} page @param {string} at @param {string} words */
async function note(page, at, words) {
  await page.goto(at + '/add/note.written');
  await page.locator('[name=text]').fill(words);
  await follow(page, () => page.locator('.save button').first().click());
}

/** Waits until the header says that nothing is left to send. @param {import('playwright-core').Page} page @param {string} url */
async function sent(page, url) {
  for (let i = 0; i < 60; i++) {
    await page.goto(url);
    const words = await page.locator('.aboard').first().textContent({ timeout: 5000 });
    if (words && !words.includes('to send')) return;
    await new Promise((r) => setTimeout(r, 500));
  }
  assert.fail('still waiting: ' + await page.locator('.aboard').first().textContent());
}

/** How often words stand in the log of a case. @param {import('playwright-core').Page} page @param {string} at @param {string} words */
async function inLog(page, at, words) {
  await page.goto(at + '/log');
  return (await main(page)).split(words).length - 1;
}

/** A phone whose list is kept, with a server behind a line. */
async function start() {
  const served = await Served.start();
  const line = await Line.to(served.origin);
  const browser = await Browser.start(phone);
  const page = browser.context.pages()[0];
  page.setDefaultTimeout(60_000);
  const path = await served.begin(page);
  await signIn(page, line.origin);
  await keep(page, line.origin);
  return { served, line, browser, page, path };
}

/** @type {(() => unknown)[]} */
const ends = [];
after(async () => { for (const end of ends) await end(); });

test('a day without the server: Rounds, a visit and a photo, the phone started anew, everything sent once', { timeout: 400_000 }, async () => {
  const s = await start();
  ends.push(() => s.served.stop(), () => s.line.stop(), () => s.browser.stop());
  let { page } = s;
  const at = s.line.origin + s.path;
  await page.goto(s.line.origin + '/');
  await page.getByText('On this phone since').waitFor();
  await s.served.end('SIGKILL');

  await page.goto(s.line.origin + '/');
  await page.locator('a.aboard:not([id])').waitFor(); // the kept page was replaced by one that is worked out here
  assert.match(await main(page), /Ann Eastham/);
  assert.equal(await page.locator('#kept').count(), 0);
  for (const [where, words] of [['', /Ann Eastham/], ['/visit', /Save the visit/], ['/log', /newest first/], ['/photo', /photo/i]]) {
    await page.goto(at + where);
    assert.match(await main(page), /** @type {RegExp} */ (words));
    assert.equal(await overflow(page), 0, 'wider than a phone: ' + where);
  }
  for (const [where, words] of [['/bench', /Bench/], ['/call', /Call desk/], ['/rules', /Rulebook/], ['/stores', /needs the network/], ['/pumps', /needs the network/]]) {
    await page.goto(s.line.origin + where);
    assert.match(await main(page), /** @type {RegExp} */ (words));
    assert.deepEqual(await violations(page), [], String(where));
  }
  await note(page, at, 'Written in the cellar.');
  await page.goto(at + '/photo');
  await page.locator('input[type=file]').setInputFiles(join(source, 'demo/photo/edge-1.jpg'));
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await page.locator('.aboard').first().textContent() ?? '', /2 entries to send/);

  // The phone is switched off and on; its list is still open, for the hours of the shift.
  const { profile } = s.browser;
  await s.browser.close();
  let browser = await Browser.start(phone, { profile });
  ends.push(() => browser.stop());
  page = browser.context.pages()[0];
  page.setDefaultTimeout(60_000);
  assert.equal(await inLog(page, at, 'Written in the cellar.'), 1);
  await page.goto(s.line.origin + '/phone');
  await page.locator('[data-do=lock] button').click();
  await page.locator('[data-do=unlock]:not([data-passkey])').waitFor();
  await page.goto(at);
  assert.doesNotMatch(await page.locator('body').innerText(), /Eastham/);
  await page.locator('#unlock-phrase').fill('not the phrase at all');
  await page.locator('[data-do=unlock]:not([data-passkey]) button').click();
  await page.locator('#phone-problem:not([hidden])').waitFor();
  assert.match(await page.locator('#phone-problem').innerText(), /No list on this phone opens/);

  // Nothing of a patient, and nothing of the phrase, can be read in the folder of the browser.
  await browser.close();
  // A browser's own list of pages has their titles, and its own memory of open windows what was typed: see the handbook.
  const kept = search(profile, ['Eastham', 'Written in the cellar', 'left heel', 'Mara Holt']).filter((f) => !/^Default\/(History|Top Sites|Web Data|Sessions|Favicons)/.test(f));
  assert.deepEqual(kept, []);
  assert.deepEqual(search(profile, [phrase]), []);
  browser = await Browser.start(phone, { profile });
  page = browser.context.pages()[0];
  page.setDefaultTimeout(60_000);
  await page.goto(at);
  await page.locator('#unlock-phrase').fill(phrase);
  await page.locator('[data-do=unlock]:not([data-passkey]) button').click();
  await page.getByText('Ann Eastham').first().waitFor();

  const again = await Served.start(s.served.dir, String(s.line.port));
  ends.push(() => again.stop());
  await page.goto(at);
  await page.waitForTimeout(11_000); // the server that was away is asked again after ten seconds
  await page.goto(at);
  await page.getByText('Sign in to send and fetch').waitFor();
  await signIn(page, s.line.origin);
  await sent(page, s.line.origin + '/');
  assert.equal(await inLog(page, at, 'Written in the cellar.'), 1);
  const other = await Browser.start(phone);
  ends.push(() => other.stop());
  const second = other.context.pages()[0];
  await signIn(second, s.line.origin);
  assert.equal(await inLog(second, at, 'Written in the cellar.'), 1);
  assert.match(await main(second), /Photo of wound/);
  assert.match(await main(second), /without a network/);
});

/** The words that stand somewhere in the files of a folder, in one or two bytes a letter. @param {string} dir @param {string[]} words */
function search(dir, words) {
  /** @type {string[]} */
  const found = [];
  for (const f of /** @type {string[]} */ (readdirSync(dir, { recursive: true }))) {
    const file = join(dir, f);
    if (!statSync(file, { throwIfNoEntry: false })?.isFile()) continue;
    const raw = readFileSync(file);
    for (const w of words) if (raw.includes(w) || raw.includes(Buffer.from(w, 'utf16le'))) found.push(f + ': ' + w);
  }
  return found;
}

test('the line breaks when the server has the form: the entry is kept once', { timeout: 200_000 }, async () => {
  const s = await start();
  ends.push(() => s.served.stop(), () => s.line.stop(), () => s.browser.stop());
  const { page } = s;
  const at = s.line.origin + s.path;
  await page.goto(at + '/add/note.written');
  await page.locator('[name=text]').fill('The line broke.');
  s.line.cutAfterPost = true;
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await page.locator('.said').first().innerText(), /Saved/);
  assert.equal(s.line.cutAfterPost, false, 'the form went to the server first');
  assert.equal(await inLog(page, at, 'The line broke.'), 1);
  s.line.on();
  await page.waitForTimeout(11_000);
  await sent(page, at);
  assert.equal(await inLog(page, at, 'The line broke.'), 1);
  // What the server has, asked past the worker.
  const direct = await page.context().newPage();
  await signIn(direct, s.served.origin);
  assert.equal(await inLog(direct, s.served.origin + s.path, 'The line broke.'), 1);
});

test('two tabs, a worker that is stopped at any moment, and a form sent twice: nothing lost, nothing doubled', { timeout: 300_000 }, async () => {
  const s = await start();
  ends.push(() => s.served.stop(), () => s.line.stop(), () => s.browser.stop());
  const at = s.line.origin + s.path;
  s.line.off();
  const tabs = [s.page, await s.browser.context.newPage()];
  for (const t of tabs) t.setDefaultTimeout(60_000);
  await Promise.all(tabs.map((t, i) => note(t, at, 'From tab ' + i + '.')));
  const cdp = await s.browser.context.newCDPSession(s.page);
  await cdp.send('ServiceWorker.enable');
  /** @type {string[]} */
  const said = [];
  for (const [i, ms] of [0, 15, 40, 90, 200, 400].entries()) {
    const words = 'Stopped after ' + ms + ' ms.';
    await s.page.goto(at + '/add/note.written');
    await s.page.locator('[name=text]').fill(words);
    const done = follow(s.page, () => s.page.locator('.save button').first().click()).catch(() => {});
    await new Promise((r) => setTimeout(r, ms));
    await cdp.send('ServiceWorker.stopAllWorkers');
    await Promise.race([done, new Promise((r) => setTimeout(r, 15_000))]);
    if ((await s.page.locator('.said').first().textContent({ timeout: 1000 }).catch(() => ''))?.includes('Saved')) said.push(words);
    assert.ok(await inLog(tabs[1], at, words) <= 1, 'doubled at ' + i);
  }
  for (const words of said) assert.equal(await inLog(s.page, at, words), 1, 'a page said that it was saved: ' + words);
  console.log('saved though the worker was stopped: ' + said.length + ' of 6');
  for (const i of [0, 1]) assert.equal(await inLog(s.page, at, 'From tab ' + i + '.'), 1);
  s.line.on();
  await s.page.waitForTimeout(11_000);
  await sent(s.page, at);
  const direct = await s.page.context().newPage();
  await signIn(direct, s.served.origin);
  for (const words of [...said, 'From tab 0.', 'From tab 1.']) assert.equal(await inLog(direct, s.served.origin + s.path, words), 1, words);
});

test('another nurse on the same phone sees nothing of the first', { timeout: 200_000 }, async () => {
  const s = await start();
  ends.push(() => s.served.stop(), () => s.line.stop(), () => s.browser.stop());
  const { page } = s;
  // She leaves while there is no network: her list is shut at once.
  s.line.off();
  await page.goto(s.line.origin + '/');
  await page.locator('a.aboard:not([id])').waitFor();
  await page.locator('.far > summary').click();
  await follow(page, () => page.getByRole('button', { name: 'Leave' }).click());
  for (const where of ['/', s.path, s.path + '/log', '/phone']) {
    await page.goto(s.line.origin + where);
    assert.doesNotMatch(await page.locator('body').innerText(), /Eastham|Holt/, where);
  }
});

test('where somebody cleared the browser, and where there is no room, the page says so', { timeout: 200_000 }, async () => {
  const s = await start();
  ends.push(() => s.served.stop(), () => s.line.stop(), () => s.browser.stop());
  const { page } = s;
  const at = s.line.origin + s.path;
  const cdp = await s.browser.context.newCDPSession(page);
  s.line.off();
  await page.goto(at + '/add/note.written');
  await page.locator('[name=text]').fill('There is no room.');
  const worker = s.browser.context.serviceWorkers()[0];
  await worker.evaluate(() => {
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (/** @type {any[]} */ ...args) {
      if (this.name === 'links') throw new DOMException('no room', 'QuotaExceededError');
      return put.apply(this, /** @type {any} */ (args));
    };
    Object.assign(self, { mend: () => { IDBObjectStore.prototype.put = put; } });
  });
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await main(page), /The disk is full, so nothing was saved/);
  assert.equal(await page.locator('[name=text]').inputValue(), 'There is no room.');
  await worker.evaluate(() => /** @type {any} */ (self).mend());
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await page.locator('.said').first().innerText(), /Saved/);
  await cdp.send('Storage.clearDataForOrigin', { origin: s.line.origin, storageTypes: 'indexeddb' });
  await page.goto(at + '/add/note.written');
  const body = await page.locator('body').innerText();
  if (/Save/.test(body)) {
    await page.locator('[name=text]').fill('Into nothing.');
    await follow(page, () => page.locator('.save button').first().click());
    assert.doesNotMatch(await main(page), /Saved/, 'a page said that something was kept where nothing is');
  } else {
    assert.match(body, /No list is kept on this phone|Keep my list on this phone|server does not answer/);
  }
});
