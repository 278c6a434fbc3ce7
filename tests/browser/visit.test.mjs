// The nurse's work: a whole visit on a phone, a count that does not add up and how it is resolved, a correction and
// a signature, with keys alone.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, laptop, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/**
 * Moves focus with the Tab key until the element has it.
 * @param {import('playwright-core').Page} page @param {string} selector @param {number} most
 */
async function tabTo(page, selector, most = 250) {
  for (let i = 0; i < most; i++) {
    if (await page.evaluate((s) => document.activeElement?.matches(s) ?? false, selector)) return;
    await page.keyboard.press('Tab');
  }
  assert.fail('Tab does not reach ' + selector);
}

/** Opens a patient from Rounds. @param {import('playwright-core').Page} page @param {string} name */
async function open(page, name) {
  await page.goto(demo.origin + '/');
  await follow(page, () => page.getByRole('link', { name, exact: true }).first().click());
  await page.waitForURL(/\/case\//);
  return page.url();
}

test('a full visit on a phone, one piece missing, then accounted for', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Edda Farrow');
  assert.ok(!(await page.locator('main').innerText()).includes('did not come out'));
  await page.goto(at + '/visit');

  // Counts, volumes and signs are never filled in beforehand.
  for (const name of ['wounds/0/out/0/count', 'wounds/0/in/0/count', 'canister/volume_mL', 'pain', 'suction_mmHg']) {
    assert.equal(await page.locator(`[name="${name}"]`).inputValue(), '', name);
  }
  assert.equal(await page.locator('[name="signs"]:checked').count(), 0);

  const started = Date.now();
  await page.locator('[name="wounds/0/none_out"]').check();
  await page.locator('[name="wounds/0/in/0/count"]').fill('1');
  await page.locator('[name="wounds/0/contact_layer"][value="false"]').check();
  await page.locator('[name="wounds/0/bed"][value="granulation"]').check();
  await page.locator('[name="wounds/0/periwound"][value="intact"]').check();
  await page.locator('[name="wounds/0/exudate"][value="moderate"]').check();
  await page.locator('[name="signs"][value="none"]').check();
  await page.locator('[name="pain"]').fill('2');
  await page.locator('[name="seal"][value="holds"]').check();
  await page.locator('[name="suction_mmHg"]').fill('125');
  await page.locator('[name="power/therapy"][value="on"]').check();
  await page.locator('[name="canister/volume_mL"]').fill('110');
  await page.locator('[name="canister/colour"]').selectOption('straw');
  await follow(page, () => page.getByRole('button', { name: 'Save the visit' }).last().click());
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  assert.ok(Date.now() - started < 120_000);
  const said = await page.getByRole('status').innerText();
  assert.match(said, /missing/);
  const body = await page.locator('main').innerText();
  assert.match(body, /Act now[\s\S]*Missing: 1 foam/);
  assert.deepEqual(await violations(page), []);

  await page.goto(at + '/add/pieces.accounted');
  await page.locator('[name="filler"][value="foam"]').check();
  await page.locator('[name="count"]').fill('1');
  await page.locator('[name="outcome"][value="found and removed"]').check();
  await page.locator('[name="note"]').fill('in the old dressing, seen by two');
  await follow(page, () => page.getByRole('button', { name: 'Save' }).last().click());
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  assert.ok(!(await page.locator('main').innerText()).includes('Missing: 1 foam'));
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});

test('the first screen of a case says who, what to do, and how things are', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  await open(page, 'Halina Wroble');
  const seen = await page.evaluate(() => {
    const main = document.querySelector('main');
    const first = document.querySelector('.decides .button');
    if (!(main instanceof HTMLElement) || !(first instanceof HTMLElement)) return null;
    const range = document.createRange();
    range.setStart(main, 0);
    range.setEndBefore(first);
    return { words: range.toString().split(/\s+/).filter(Boolean).length, facts: [...document.querySelectorAll('.nowFacts dt')].map((x) => x.textContent), bottom: document.querySelector('.nowFacts')?.getBoundingClientRect().bottom ?? 9999 };
  });
  assert.ok(seen && seen.words <= 32, JSON.stringify(seen));
  for (const want of ['Suction', 'Canister', 'Battery', 'In the wound', 'Next visit', 'Call prescriber']) assert.ok(seen.facts.includes(want), want);
  assert.ok(seen.bottom <= phone.height + 16, 'it does not fit the first screen: ' + seen.bottom);
  assert.match(await page.locator('.nowFacts').innerText(), /off since 06:40: alarm: battery low/);
  const raw = await page.pdf({ format: 'A4' });
  assert.ok((raw.toString('latin1').match(/\/Type\s*\/Page\b/g) ?? []).length <= 2, 'it prints on two pages');
  await browser.stop();
});

test('what is wrong is said at the field, and nothing typed is lost', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Henrietta Swann');
  await page.goto(at + '/visit');
  await page.locator('[name="wounds/0/out/0/count"]').fill('two');
  await page.locator('[name="pain"]').fill('14');
  await page.locator('[name="note"]').first().fill('<script>alert(1)</script> stays as typed');
  await follow(page, () => page.getByRole('button', { name: 'Save the visit' }).last().click());
  assert.equal(await page.locator('[name="wounds/0/out/0/count"]').inputValue(), 'two');
  assert.equal(await page.locator('[name="pain"]').inputValue(), '14');
  const field = page.locator('[name="pain"]');
  assert.equal(await field.getAttribute('aria-invalid'), 'true');
  const described = (await field.getAttribute('aria-describedby') ?? '').split(' ');
  const words = await page.evaluate((ids) => ids.map((id) => document.getElementById(id)?.textContent).join(' '), described);
  assert.match(words, /10/);
  assert.deepEqual(await violations(page), []);
  await browser.stop();
});

test('a visit, a correction and a signature with keys alone', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const at = await open(page, 'Signe Haugland');

  // From the case to the visit, through it, and save.
  await page.keyboard.press('Home');
  await tabTo(page, 'a[href$="/visit"]');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL(/\/visit$/);
  await tabTo(page, '[name="wounds/0/out/0/count"]');
  await page.keyboard.type('1');
  await tabTo(page, '[name="wounds/0/in/0/count"]');
  await page.keyboard.type('2');
  await tabTo(page, '[name="signs"][value="none"]');
  await page.keyboard.press('Space');
  await tabTo(page, '[name="suction_mmHg"]');
  await page.keyboard.type('125');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  assert.match(await page.locator('main').innerText(), /2 foam/);

  // The newest visit is corrected: three pieces went in.
  await page.goto(at + '/log');
  await tabTo(page, 'a[href*="/correct/"]');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL(/\/correct\//);
  assert.deepEqual(await violations(page), []);
  await tabTo(page, 'a[href*="do=replace"]');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL(/do=replace/);
  assert.deepEqual(await violations(page), []);
  await tabTo(page, '[name="body/wounds/0/in/0/count"]');
  await page.keyboard.press('Control+A');
  await page.keyboard.type('3');
  await page.locator('[name="reason"]').focus();
  await page.keyboard.type('miscounted');
  await page.keyboard.press('Tab');
  await tabTo(page, 'main button[type="submit"], main button:not([type])');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  await page.goto(at + '/log');
  const log = await page.locator('main').innerText();
  assert.match(log, /miscounted/);
  assert.match(log, /2 foam/, 'what was written first stays visible');
  assert.match(log, /3 foam/, 'and what replaced it');

  // Signing stores what was read.
  await page.goto(at + '/sign');
  await tabTo(page, '[name="purpose"]');
  await page.keyboard.press('Space');
  await tabTo(page, 'main button[type="submit"], main button:not([type])');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  await page.goto(at + '/log');
  assert.match(await page.locator('main').innerText(), /[Rr]eview signed/);
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});

test('handover is not signed while a count is open', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Osric Pell');
  await page.goto(at + '/sign');
  const handover = page.locator('[name="purpose"][value="handover"]');
  if (await handover.isEnabled()) {
    await handover.check();
    await follow(page, () => page.getByRole('button', { name: /Sign/ }).last().click());
  }
  assert.match(await page.locator('main').innerText(), /count/i);
  await page.goto(at + '/log');
  assert.ok(!(await page.locator('main').innerText()).includes('signed for handover'));
  await browser.stop();
});

test('the same form sent twice is one entry', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Edda Farrow');
  await page.goto(at + '/add/note.written');
  await page.locator('[name="text"]').fill('sent twice by a nervous thumb');
  const sent = await page.evaluate(async () => {
    const form = document.querySelector('main form');
    if (!(form instanceof HTMLFormElement)) return [];
    const body = () => new URLSearchParams(/** @type {any} */ (new FormData(form)));
    const post = () => fetch(location.href, { method: 'POST', body: body() }).then((r) => r.status);
    return [await post(), await post()];
  });
  assert.deepEqual(sent, [200, 200]);
  await page.goto(at + '/log');
  const log = await page.locator('main').innerText();
  assert.equal(log.split('nervous thumb').length - 1, 1);
  await browser.stop();
});
