// Locks in a real browser: set-up, signing in, a passkey on a virtual device, a second nurse on the same computer, the
// question for a reason, erasing after a fresh proof. Every page on the way is looked over by axe-core.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, menu, laptop, overflow, phone, violations } from './lowtide.mjs';
import { Served, password } from './served.mjs';

/** @type {Served} */
let served;
/** @type {Browser} */
let browser;
/** @type {import('playwright-core').Page} */
let page;
/** @type {string[]} */
const wrong = [];
before(async () => {
  served = await Served.start();
  browser = await Browser.start(laptop);
  page = browser.context.pages()[0] ?? await browser.context.newPage();
  page.setDefaultTimeout(60_000);
  page.on('pageerror', (e) => wrong.push('script: ' + e.message));
});
after(async () => {
  await browser.stop();
  await served.stop();
});

/** Looks the page over. @param {string} name */
async function look(name) {
  for (const v of await violations(page)) wrong.push(`${name}: ${v}`);
  await page.setViewportSize(phone);
  const wide = await overflow(page);
  if (wide > 0) wrong.push(`${name}: ${wide} px wider than a phone`);
  await page.setViewportSize(laptop);
}

/** @param {string} name @param {string} words */
async function signIn(name, words = password) {
  await page.goto(served.origin + '/sign-in');
  await page.getByLabel('Sign-in name').fill(name);
  await page.getByLabel('Password').fill(words);
  await follow(page, () => page.getByRole('button', { name: 'Sign in', exact: true }).click());
}

/** @param {string} name @param {string} team */
async function newCase(name, team) {
  await page.goto(served.origin + '/case/new');
  await page.getByLabel('Name', { exact: false }).first().fill(name);
  await page.locator('[name="person/place"][value="ward"]').check();
  await page.locator('[name="person/team"]').fill(team);
  await page.locator('[name="wound/site"]').fill('left heel');
  await page.locator('[name="wound/type"]').first().evaluate((el) => { if (el instanceof HTMLSelectElement) el.value = 'pressure'; else if (el instanceof HTMLInputElement) { const box = document.querySelector('[name="wound/type"][value="pressure"]'); if (box instanceof HTMLInputElement) box.checked = true; } });
  await follow(page, () => page.locator('.save button').click());
  await page.waitForURL(/\/case\/[0-9a-f-]{36}\?saved=/);
  return new URL(page.url()).pathname;
}

let east = '', west = '';

test('the first account is set up, a poor password is refused', async () => {
  await page.goto(served.setUp);
  await look('set-up');
  await page.getByLabel('Your name').fill('Mara Holt');
  await page.getByLabel('Sign-in name').fill('m.holt');
  await page.getByLabel('Your teams').fill('East');
  await page.getByLabel('Password').fill('lighthouse1234567');
  await follow(page, () => page.getByRole('button', { name: 'Make the account' }).click());
  await page.getByText('one word with digits').first().waitFor();
  await look('set-up, refused');
  assert.equal(await page.getByLabel('Your name').inputValue(), 'Mara Holt');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Make the account' }).click());
  await page.waitForURL(served.origin + '/me?done=set-up');
  await page.getByText('takes a second factor').waitFor();
  await look('own account');
  const again = await page.goto(served.setUp);
  assert.equal(again?.status(), 404);
});

test('a passkey on the device is added, and signs in', async () => {
  const cdp = await browser.context.newCDPSession(page);
  await cdp.send('WebAuthn.enable');
  const { authenticatorId } = await cdp.send('WebAuthn.addVirtualAuthenticator', { options: { protocol: 'ctap2', transport: 'internal', hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true } });
  await page.goto(served.origin + '/accounts');
  assert.match(await page.locator('h1').innerText(), /second factor/);
  await page.goto(served.origin + '/me');
  await page.getByLabel('What holds it').fill('my phone');
  await follow(page, () => page.getByRole('button', { name: 'Add a passkey' }).click());
  await page.waitForURL(/done=passkey/);
  await page.getByRole('rowheader', { name: 'my phone' }).waitFor();
  await look('own account with a passkey');
  assert.equal((await page.goto(served.origin + '/accounts'))?.status(), 200);
  await look('accounts');

  await follow(page, () => menu(page, 'Leave'));
  await page.waitForURL(/sign-in/);
  await look('sign-in');
  // The device could not tell who it is: refused.
  await cdp.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: false });
  await page.getByRole('button', { name: 'Sign in with a passkey' }).click();
  await page.locator('form[data-passkey] [role=alert]').waitFor({ state: 'visible' });
  assert.equal((await page.request.get(served.origin + '/accounts')).status(), 401);
  await cdp.send('WebAuthn.setUserVerified', { authenticatorId, isUserVerified: true });
  await follow(page, () => page.getByRole('button', { name: 'Sign in with a passkey' }).click());
  await page.waitForURL(served.origin + '/');
  assert.equal((await page.goto(served.origin + '/accounts'))?.status(), 200);
});

test('the sessions are listed, and the other one is ended', async () => {
  const other = await Browser.start(phone);
  try {
    const p = await other.context.newPage();
    await p.goto(served.origin + '/sign-in');
    await p.getByLabel('Sign-in name').fill('m.holt');
    await p.getByLabel('Password').fill(password);
    await follow(p, () => p.getByRole('button', { name: 'Sign in', exact: true }).click());
    await p.waitForURL(served.origin + '/');
    // The password alone changes nothing of an account that has a passkey.
    await p.goto(served.origin + '/me');
    await follow(p, () => p.getByRole('button', { name: 'Set up one-time codes' }).click());
    await p.getByRole('heading', { name: 'Prove once more' }).waitFor();
    assert.equal(await p.getByLabel('Password').count(), 0);
    await page.goto(served.origin + '/me');
    await look('sessions');
    const end = page.getByRole('button', { name: /End the session of/ });
    assert.equal(await end.count(), 1);
    await end.focus();
    await follow(page, () => page.keyboard.press('Enter'));
    await page.waitForURL(/done=session/);
    assert.equal((await p.goto(served.origin + '/me'))?.status(), 401);
  } finally {
    await other.stop();
  }
});

test('an account is made, and its one-time link sets a password', async () => {
  await page.goto(served.origin + '/accounts/new');
  await look('new account');
  await page.getByLabel('Sign-in name').fill('j.okafor');
  await page.getByLabel('Name, as colleagues know it').fill('J. Okafor');
  await page.locator('[name=roles][value=nurse]').check();
  await page.getByLabel('Teams, one a line').fill('West');
  await follow(page, () => page.getByRole('button', { name: 'Make the account' }).click());
  const link = await page.locator('dd', { hasText: '/link?key=' }).innerText();
  await look('one-time link');
  east = await newCase('Ann Eastham', 'East');
  await page.goto(served.origin + '/account/j.okafor');
  await look('an account');
  await follow(page, () => menu(page, 'Switch person'));
  await page.goto(link);
  await look('new password');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Set the password' }).click());
  await page.getByText('The password is set').waitFor();
  assert.equal((await page.goto(link))?.status(), 403);
});

test('a wrong password is refused; the right one opens', async () => {
  await signIn('j.okafor', 'four grey geese at dusk');
  await page.getByText('The name or the password is not right').first().waitFor();
  await look('sign-in, refused');
  await signIn('j.okafor');
  await page.waitForURL(served.origin + '/');
  west = await newCase('Bea Weston', 'West');
  await page.goto(served.origin + '/');
  const rounds = await page.locator('main').innerText();
  assert.ok(rounds.includes('Bea Weston') && !rounds.includes('Ann Eastham'), rounds);
  assert.equal((await page.goto(served.origin + '/accounts'))?.status(), 403);
});

test('a case outside the list asks for the reason', async () => {
  await page.goto(served.origin + '/others?name=east');
  await look('other patients');
  await follow(page, () => page.getByRole('link', { name: 'Ann Eastham' }).click());
  assert.match(await page.locator('h1').innerText(), /not on your list/);
  assert.ok(!(await page.locator('body').innerText()).includes('heel'));
  await look('reason');
  await follow(page, () => page.getByRole('button', { name: 'Open the case' }).click());
  await page.getByText('The reason is missing').first().waitFor();
  await page.getByLabel('Why do you open it?').fill('on call tonight');
  await follow(page, () => page.getByRole('button', { name: 'Open the case' }).click());
  await page.waitForURL(served.origin + east);
  assert.ok((await page.locator('main').innerText()).includes('heel'));
});

test('a switch of nurse leaves nothing of the last one on the screen', async () => {
  await page.goto(served.origin + east);
  await follow(page, () => menu(page, 'Switch person'));
  await page.waitForURL(served.origin + '/sign-in');
  const people = await page.locator('main').innerText();
  assert.ok(people.includes('Mara Holt') && people.includes('J. Okafor') && !people.includes('Eastham'), people);
  await look('sign-in on a known computer');
  // The back button: asked for again, and shut.
  await page.goBack();
  await page.getByLabel('Password').waitFor();
  assert.ok(!(await page.content()).includes('Eastham'), 'the last page came back');
  await page.goto(served.origin + '/sign-in');
  await follow(page, () => page.getByRole('link', { name: 'Mara Holt' }).click());
  assert.equal(await page.getByLabel('Sign-in name').inputValue(), 'm.holt');
  await page.getByLabel('Password').fill(password);
  await follow(page, () => page.getByRole('button', { name: 'Sign in', exact: true }).click());
  await page.waitForURL(served.origin + '/');
  const rounds = await page.locator('main').innerText();
  assert.ok(rounds.includes('Ann Eastham') && !rounds.includes('Bea Weston'));
  await page.goBack();
  assert.ok(!(await page.content()).includes('Bea Weston'));
});

test('erasing asks for a proof, a reason and the number, and then nobody can read the case', async () => {
  // A password alone does not open what administrators do: the passkey does.
  await page.goto(served.origin + east + '/erase');
  await page.getByText('Prove once more').waitFor();
  await look('proof');
  await follow(page, () => page.getByRole('button', { name: 'Use a passkey' }).click());
  await page.getByRole('button', { name: 'Erase for good' }).waitFor();
  await look('erase');
  await page.getByLabel('Why, and who asks for it').fill('request of the patient, file 12');
  await page.getByLabel('Type the last eight').fill('00000000');
  await follow(page, () => page.getByRole('button', { name: 'Erase for good' }).click());
  await page.getByText('These are not the last eight').first().waitFor();
  await page.getByLabel('Type the last eight').fill(east.slice(-8));
  await follow(page, () => page.getByRole('button', { name: 'Erase for good' }).click());
  await page.getByRole('heading', { name: 'The case is erased.' }).waitFor();
  await look('erased');
  const gone = await page.goto(served.origin + east);
  assert.equal(gone?.status(), 410);
  assert.match(await page.locator('main').innerText(), /by m\.holt because: request of the patient, file 12/);
  await page.goto(served.origin + '/');
  assert.ok(!(await page.content()).includes('Ann Eastham'));
});

test('the access log has it all, without a name of a patient', async () => {
  await page.goto(served.origin + '/access');
  const log = await page.locator('main').innerText();
  for (const words of ['on call tonight', 'erased', 'request of the patient', 'wrong password', 'signed in', 'changed an account', 'j.okafor']) assert.ok(log.includes(words), words);
  assert.ok(!log.includes('Eastham') && !log.includes('Weston'));
  await look('access log');
  const waiting = page.waitForEvent('download');
  await page.getByRole('link', { name: 'as CSV' }).click();
  assert.equal((await waiting).suggestedFilename(), 'lowtide-access.csv');
});

test('one-time codes: the page to set them up', async () => {
  await page.goto(served.origin + '/me');
  await follow(page, () => page.getByRole('button', { name: 'Set up one-time codes' }).click());
  await page.getByText('Key', { exact: true }).waitFor();
  await look('codes');
});

test('the demonstration lets one be each of its people', async () => {
  const demo = await Demo.start();
  const b = await Browser.start(laptop);
  try {
    const p = await b.enter(demo);
    page = p;
    await p.goto(demo.origin + '/who');
    await look('who to be');
    for (const [name, path, status] of /** @type {const} */ ([['S. Amani', '/', 200], ['S. Amani', '/others', 403], ['A. Quill', '/accounts', 200], ['A. Quill', '/others', 403], ['Dr I. Vance', '/', 200], ['L. Brandt', '/case/new', 403]])) {
      await p.goto(demo.origin + '/who');
      await p.getByLabel(name).check();
      await follow(p, () => p.getByRole('button', { name: 'Go on' }).click());
      await p.waitForLoadState();
      assert.equal((await p.goto(demo.origin + path))?.status(), status, name + ' ' + path);
      await look(name + ' ' + path);
    }
    assert.deepEqual(b.outside, []);
  } finally {
    await b.stop();
    await demo.stop();
  }
});

test('nothing was wrong with any of the pages', () => {
  assert.deepEqual(wrong, []);
  assert.deepEqual(browser.outside.filter((u) => new URL(u).hostname !== 'localhost'), []);
  assert.ok(!/Eastham|Weston|Holt|okafor/.test(served.errors), 'a name in the server\'s log: ' + served.errors);
});
