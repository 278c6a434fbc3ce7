// A form that is sent after its session ended: nothing typed is lost, also over a restart of the server, and nobody else
// finds it at the same device.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, follow, laptop, menu, phone, violations } from './lowtide.mjs';
import { Served, password } from './served.mjs';

/** @type {Served} */
let served;
/** @type {Browser} */
let browser;
/** @type {import('playwright-core').Page} */
let page;
let at = '', link = '';

/** @param {import('playwright-core').Page} p @param {string} name */
async function typeName(p, name) {
  await p.getByLabel('Sign-in name').fill(name);
  await p.getByLabel('Password').fill(password);
  await follow(p, () => p.getByRole('button', { name: 'Sign in', exact: true }).click());
}

/** @param {string} pain */
async function halfTyped(pain) {
  await page.goto(served.origin + at + '/visit');
  await page.locator('[name="pain"]').fill(pain);
  await page.locator('[name="signs"][value="none"]').check();
}

/** Sends the form, which nobody is signed in for any more. */
async function sendInVain() {
  await follow(page, () => page.locator('.save button').first().click());
  await page.getByText('You were signed out before this was sent').waitFor();
  await page.getByText('offers what you typed').waitFor();
  assert.deepEqual(await violations(page), []);
}

/** @param {string} pain */
async function found(pain) {
  await page.waitForURL(served.origin + at + '/visit');
  assert.equal(await page.locator('[name="pain"]').inputValue(), '');
  await page.getByRole('button', { name: 'Go on with it' }).click();
  assert.equal(await page.locator('[name="pain"]').inputValue(), pain);
  assert.ok(await page.locator('[name="signs"][value="none"]').isChecked());
}

const kept = () => page.evaluate(() => Object.keys(localStorage).filter((n) => n.startsWith('lowtide-draft:')));

before(async () => {
  served = await Served.start();
  browser = await Browser.start(phone);
  page = browser.context.pages()[0] ?? await browser.context.newPage();
  page.setDefaultTimeout(60_000);
  at = await served.begin(page);
});
after(async () => {
  await browser.stop();
  await served.stop();
});

test('a new case that was saved leaves nothing on the device', async () => assert.deepEqual(await kept(), []));

test('the session is ended elsewhere while a visit is half typed: it is offered after signing in', async () => {
  await halfTyped('7');
  const other = await Browser.start(laptop);
  try {
    const p = await other.context.newPage();
    await p.goto(served.origin + '/sign-in');
    await typeName(p, 'm.holt');
    await p.goto(served.origin + '/me');
    await follow(p, () => p.getByRole('button', { name: /End the session of/ }).first().click());
    await p.waitForURL(/done=session/);
  } finally {
    await other.stop();
  }
  await sendInVain();
  const sealed = await page.evaluate(() => JSON.stringify(localStorage));
  assert.ok(!sealed.includes('pain') && !sealed.includes('Eastham'), 'it is kept sealed');
  await typeName(page, 'm.holt');
  await found('7');
});

test('the server is started anew while a visit is half typed: it is offered after signing in', async () => {
  await page.goto(served.origin + at);
  await halfTyped('8');
  const { dir, origin } = served;
  await served.end('SIGTERM');
  served = await Served.start(dir, new URL(origin).port);
  assert.equal(served.origin, origin);
  await sendInVain();
  await typeName(page, 'm.holt');
  await found('8');
});

test('what was saved after all is gone from the device, another half-typed form is not; leaving takes that, too', async () => {
  const visit = await kept();
  assert.equal(visit.length, 1);
  await page.goto(served.origin + at + '/add/note.written');
  await page.locator('[name=text]').fill('heard from the ward');
  await browser.context.clearCookies();
  await sendInVain();
  assert.equal((await kept()).length, 2);
  await typeName(page, 'm.holt');
  await page.getByRole('button', { name: 'Go on with it' }).click();
  assert.equal(await page.locator('[name=text]').inputValue(), 'heard from the ward');
  await follow(page, () => page.locator('.save button').first().click());
  await page.waitForURL(/saved=/);
  assert.deepEqual(await kept(), visit);
  await page.goto(served.origin + at + '/log');
  assert.equal((await page.locator('main').innerText()).split('heard from the ward').length, 2, 'saved once');
  await follow(page, () => menu(page, 'Leave'));
  assert.deepEqual(await kept(), []);
});
