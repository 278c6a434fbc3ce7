// A store that was put back to an older copy, in a real browser: the seal of the day and its code, the warning on every
// page, the comparison with a seal kept elsewhere, and what makes the warning go away.
// @ts-check
import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { copyFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Browser, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';
import { Served, password } from './served.mjs';

/** @type {Served} */
let served;
/** @type {Browser} */
let browser;
/** @type {import('playwright-core').Page} */
let page;
/** @type {string[]} */
const wrong = [];
let dir = '', path = '', early = '', late = '';
const store = () => join(dir, 'ward.db');

/** Runs a command of the program. @param {string[]} args */
function lowtide(...args) {
  const r = spawnSync(process.env.LOWTIDE ?? join(out, 'lowtide'), args, { encoding: 'utf8' });
  return { code: r.status, said: r.stdout + r.stderr };
}

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

async function signIn() {
  await page.goto(served.origin + '/sign-in');
  await page.getByLabel('Sign-in name').fill('m.holt');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Sign in', exact: true }).click());
  await page.waitForURL(served.origin + '/');
}

/** @param {string} words */
async function note(words) {
  await page.goto(served.origin + path + '/add/note.written');
  await page.locator('[name=text]').fill(words);
  await follow(page, () => page.locator('.save button').first().click());
  await page.waitForURL(/saved=/);
}

before(async () => {
  served = await Served.start();
  dir = served.dir;
  browser = await Browser.start(laptop);
  page = browser.context.pages()[0] ?? await browser.context.newPage();
  page.setDefaultTimeout(60_000);
  page.on('pageerror', (e) => wrong.push('script: ' + e.message));
  path = await served.begin(page);
});
after(async () => {
  await browser.stop();
  await served.end('SIGTERM');
  rmSync(dir, { recursive: true, force: true });
});

test('the seal of the day: the code on the page is read by another program, and says what the line says', async () => {
  await page.goto(served.origin + '/seal');
  early = await page.locator('code.day-seal').innerText();
  await look('seal');
  const png = await page.locator('svg.day-seal').screenshot();
  assert.equal(execFileSync('zbarimg', ['-q', '--raw', '-'], { input: png, encoding: 'utf8' }).trim(), early);
  await page.setViewportSize(phone);
  const small = await page.locator('svg.day-seal').screenshot();
  assert.equal(execFileSync('zbarimg', ['-q', '--raw', '-'], { input: small, encoding: 'utf8' }).trim(), early);
  await page.setViewportSize(laptop);
  assert.ok(!/Eastham|Holt/.test(early), 'it holds nothing about a patient');
});

test('an older store beside a newer access log: every page says which is older', async () => {
  await served.end('SIGTERM');
  copyFileSync(store(), join(dir, 'old.db'));
  served = await Served.start(dir);
  await signIn();
  await note('written after the copy');
  await page.goto(served.origin + '/seal');
  late = await page.locator('code.day-seal').innerText();
  await served.end('SIGTERM');
  for (const seal of [early, late]) {
    const r = lowtide('check', store(), '--against', seal);
    assert.equal(r.code, 0, r.said);
  }
  copyFileSync(join(dir, 'old.db'), store());
  for (const end of ['-wal', '-shm']) rmSync(store() + end, { force: true });

  const plain = lowtide('check', store());
  assert.equal(plain.code, 1, plain.said);
  assert.match(plain.said, /defect: .*store.*older|defect: .*older.*store/i);
  const against = lowtide('check', store(), '--against', late);
  assert.equal(against.code, 1, against.said);
  assert.equal(lowtide('check', store(), '--against', early).said.includes('seal'), false, 'what was sealed before the copy is there');

  served = await Served.start(dir);
  assert.match(served.errors, /older/);
  await signIn();
  for (const to of ['/', path, path + '/log', '/me', '/about', '/seal']) {
    await page.goto(served.origin + to);
    assert.match(await main(), /older.*Entries may be missing: compare with what you know and with paper/s, to);
  }
  await page.goto(served.origin + path);
  await look('older store');
});

test('settled with a reason, it is said no more', async () => {
  await served.end('SIGTERM');
  const r = lowtide('settle', '--store', store(), '--by', 'A. Admin', '--reason', 'the copy of yesterday was put back');
  assert.equal(r.code, 0, r.said);
  served = await Served.start(dir);
  await signIn();
  await page.goto(served.origin + path);
  assert.doesNotMatch(await main(), /older/);
  assert.equal(lowtide('check', store(), '--against', late).code, 1, 'a seal kept elsewhere still shows it');
});

test('an access log that is gone is told, too', async () => {
  await served.end('SIGTERM');
  for (const end of ['', '-wal', '-shm']) rmSync(store() + '.access' + end, { force: true });
  served = await Served.start(dir);
  await signIn();
  await page.goto(served.origin + '/');
  assert.match(await main(), /access log/i);
  await look('access log gone');
});

test('nothing was wrong with any of the pages', () => {
  assert.deepEqual(wrong, []);
});
