// A disk that takes nothing, in a real browser: full, held by another program, and only to be read from the start on. The
// page says so, reading goes on, and nothing that was typed is lost.
// @ts-check
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, test } from 'node:test';
import { Browser, follow, laptop, overflow, phone, violations } from './lowtide.mjs';
import { Served, password } from './served.mjs';

const dir = mkdtempSync(join(tmpdir(), 'lowtide-medium-'));
const root = process.getuid?.() === 0;
let mounted = false;
if (root) {
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=16m,mode=700', 'tmpfs', dir], { stdio: 'ignore' });
    mounted = true;
  } catch { /* the test says that it was left out */ }
}
const skip = mounted ? false : 'mounting a small disk takes root, and a system that lets it';

/** @type {Served} */
let served;
/** @type {Browser} */
let browser;
/** @type {import('playwright-core').Page} */
let page;
/** @type {string[]} */
const wrong = [];
let path = '';
after(async () => {
  await browser?.stop();
  await served?.end('SIGTERM');
  if (mounted) execFileSync('umount', ['-l', dir]);
  rmSync(dir, { recursive: true, force: true });
});

/** Looks the page over, and keeps its picture where SHOTS says. @param {string} name */
async function look(name) {
  for (const v of await violations(page)) wrong.push(`${name}: ${v}`);
  if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `${name} laptop.png`), fullPage: true });
  await page.setViewportSize(phone);
  const wide = await overflow(page);
  if (wide > 0) wrong.push(`${name}: ${wide} px wider than a phone`);
  if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `${name} phone.png`), fullPage: true });
  await page.setViewportSize(laptop);
}

const main = () => page.locator('main').innerText();

/** Types a note and sends it. @param {string} words */
async function note(words) {
  await page.goto(served.origin + path + '/add/note.written');
  await page.locator('[name=text]').fill(words);
  await follow(page, () => page.locator('.save button').first().click());
}

async function signIn() {
  await page.goto(served.origin + '/sign-in');
  await page.getByLabel('Sign-in name').fill('m.holt');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Sign in', exact: true }).click());
  await page.waitForURL(served.origin + '/');
}

/** Fills the disk to its last byte. */
function fill() {
  for (let size = 1 << 20; size >= 1; size = Math.floor(size / 4)) {
    for (let i = 0; ; i++) {
      try { writeFileSync(join(dir, `full-${size}-${i}`), Buffer.alloc(size)); } catch { break; }
    }
  }
}
const empty = () => { for (const f of readdirSync(dir)) if (f.startsWith('full-')) rmSync(join(dir, f)); };

test('a store on a small disk', { skip }, async () => {
  served = await Served.start(dir);
  browser = await Browser.start(laptop);
  page = browser.context.pages()[0] ?? await browser.context.newPage();
  page.setDefaultTimeout(60_000);
  page.on('pageerror', (e) => wrong.push('script: ' + e.message));
  path = await served.begin(page);
});

test('full: the page says so, the note comes back, and is saved once when there is room', { skip }, async () => {
  await page.goto(served.origin + path + '/add/note.written');
  await page.locator('[name=text]').fill('hisses at the port');
  fill();
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await main(), /The disk is full, so nothing was saved\. You can go on reading/);
  assert.equal(await page.locator('[name=text]').inputValue(), 'hisses at the port');
  await look('full, a note');
  await page.goto(served.origin + path);
  assert.match(await main(), /can be read, and saves nothing/);
  assert.match(await main(), /left heel/);
  await note('second note, also kept');
  assert.equal(await page.locator('[name=text]').inputValue(), 'second note, also kept');
  empty();
  await follow(page, () => page.locator('.save button').first().click());
  await page.goto(served.origin + path + '/log');
  assert.equal((await main()).split('second note, also kept').length, 2);
  assert.doesNotMatch(await main(), /saves nothing/);
});

test('full: a form without a key of its own is kept on the page', { skip }, async () => {
  await page.goto(served.origin + '/me');
  await page.goto(served.origin + '/stores');
  await page.locator('form[action="/stores/counted"] input:not([type=hidden]), form[action="/stores/counted"] select').first().waitFor({ state: 'attached' });
  fill();
  await page.locator('form[action="/stores/counted"]').evaluate((form) => {
    if (!(form instanceof HTMLFormElement)) return;
    for (const el of form.elements) {
      if (el instanceof HTMLSelectElement && !el.value) el.selectedIndex = 1;
      if (el instanceof HTMLInputElement && el.type !== 'hidden' && !el.value) el.value = el.type === 'date' ? '2026-03-01' : '7';
    }
    form.noValidate = true;
    form.requestSubmit();
  });
  await page.getByText('What you sent is kept on this page').waitFor();
  assert.match(await main(), /The disk is full/);
  await look('full, a count');
  empty();
  await follow(page, () => page.getByRole('button', { name: 'Send it again' }).click());
  assert.doesNotMatch(await main(), /The disk is full/);
  assert.ok(new URL(page.url()).pathname.startsWith('/stores'), page.url());
});

test('held by another program: the page says so after a while, and the note comes back', { skip }, async () => {
  const other = spawn('sqlite3', [join(dir, 'ward.db')], { stdio: ['pipe', 'pipe', 'inherit'] });
  other.stdin.write('BEGIN IMMEDIATE;\nSELECT \'held\';\n');
  await new Promise((r) => other.stdout.once('data', r));
  await note('while it was busy');
  assert.match(await main(), /The store is busy, so nothing was saved\. Wait a few seconds and send it again/);
  assert.equal(await page.locator('[name=text]').inputValue(), 'while it was busy');
  await look('busy, a note');
  const gone = new Promise((r) => other.once('exit', r));
  other.stdin.end('ROLLBACK;\n');
  await gone;
  await follow(page, () => page.locator('.save button').first().click());
  await page.goto(served.origin + path + '/log');
  assert.equal((await main()).split('while it was busy').length, 2);
});

for (const [how, signal, why] of /** @type {const} */ ([['killed before', 'SIGKILL', 'ro'], ['closed in order before', 'SIGTERM', 'ro'], ['full at the start', 'SIGTERM', 'full']])) {
  test(`only to be read from the start on, ${how}`, { skip }, async () => {
    await note(`the last note, ${how}`);
    await served.end(signal);
    if (why === 'full') { for (const end of ['-wal', '-shm', '.lock']) rmSync(join(dir, 'ward.db' + end), { force: true }); fill(); } else execFileSync('mount', ['-o', 'remount,ro', dir]);
    const had = readdirSync(dir).sort();
    try {
      served = await Served.start(dir);
      assert.match(served.errors, /the store can only be read: pages are shown, nothing is saved/);
      await page.goto(served.origin + '/');
      await signIn();
      for (const to of ['/', path, path + '/log', path + '/papers', '/me', '/about', '/rules']) {
        assert.equal((await page.goto(served.origin + to))?.status(), 200, to);
        assert.match(await main(), /Lowtide can only be read: when it was started, its disk took nothing/, to);
      }
      await page.goto(served.origin + path + '/log');
      assert.ok((await main()).includes(`the last note, ${how}`), 'what was saved last is there');
      await note('typed and not lost');
      assert.match(await main(), /can only be read at this moment, so nothing was saved/);
      assert.equal(await page.locator('[name=text]').inputValue(), 'typed and not lost');
      await look(`${how}, a note`);
      await page.goto(served.origin + path + '/photo');
      await page.locator('input[type=file]').setInputFiles(join(import.meta.dirname, '../../demo/photo/edge-1.jpg'));
      await follow(page, () => page.locator('form[enctype] .save button').first().click());
      assert.match(await main(), /Nothing could be saved\..*can only be read at this moment/s);
      assert.ok(await page.getByLabel('The same file, chosen once more').isVisible());
      await look(`${how}, a photo`);
      await page.goto(served.origin + path + '/log');
      assert.doesNotMatch(await main(), /typed and not lost/);
      if (why === 'ro') assert.deepEqual(readdirSync(dir).sort(), had, 'nothing was made there');
    } finally {
      await served.end('SIGTERM');
      if (why === 'full') empty(); else execFileSync('mount', ['-o', 'remount,rw', dir]);
    }
    served = await Served.start(dir);
    await signIn();
    await note(`written again, ${how}`);
    await page.goto(served.origin + path + '/log');
    assert.ok((await main()).includes(`written again, ${how}`));
    assert.doesNotMatch(await main(), /can only be read/);
    assert.ok(existsSync(join(dir, 'ward.db')));
  });
}

test('nothing was wrong with any of the pages', { skip }, () => {
  assert.deepEqual(wrong, []);
});
