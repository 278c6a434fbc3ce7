// The nurse's work: a whole visit on a phone, a count that does not add up and how it is resolved, a correction and
// a signature, with keys alone.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, laptop, menu, phone, violations } from './lowtide.mjs';

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
  await page.getByText('Otherwise', { exact: true }).click();
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
  assert.ok(seen && seen.words < 25, JSON.stringify(seen));
  for (const want of ['Suction', 'Canister', 'Battery', 'Filler', 'Next visit', 'prescriber']) assert.ok(seen.facts.includes(want), want);
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
  await page.locator('summary', { hasText: /^Note$/ }).click();
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

test('a visit with nothing special is short, and "as last time" writes what it says', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Edda Farrow');
  await page.goto(at + '/visit');
  // A field is what is decided on: a line, a list, a group of boxes.
  const fields = await page.evaluate(() => [...document.querySelectorAll('.form .field')].filter((x) => x.checkVisibility({ contentVisibilityAuto: true })).length);
  assert.ok(fields < 20, 'fields at first: ' + fields);
  // Keystroke-level model (Card, Moran and Newell 1980): pointing 1.1 s, a key 0.28 s, deciding 1.35 s for every field shown.
  let taps = 0, keys = 0;
  const tap = async (/** @type {string} */ selector) => { taps++; await page.locator(selector).first().check(); };
  const type = async (/** @type {string} */ selector, /** @type {string} */ text) => { taps++; keys += text.length; await page.locator(selector).first().fill(text); };
  await type('[name="wounds/0/out/0/count"]', '1');
  await type('[name="wounds/0/in/0/count"]', '1');
  await tap('[name="wounds/0/contact_layer"][value="false"]');
  const same = await page.locator('label', { has: page.locator('[name="-same/0"]') }).innerText();
  await tap('[name="-same/0"]');
  await tap('[name="signs"][value="none"]');
  await type('[name="pain"]', '2');
  await type('[name="suction_mmHg"]', '125');
  await tap('[name="power/therapy"][value="on"]');
  await type('[name="power/battery_pct"]', '80');
  await tap('[name="power/plugged_in"][value="true"]');
  await type('[name="canister/volume_mL"]', '90');
  taps += 2;
  await page.locator('[name="canister/colour"]').selectOption('straw');
  await tap('[name="canister/changed"][value="false"]');
  taps++;
  const s = taps * 1.1 + keys * 0.28 + fields * 1.35;
  console.log(`visit: ${fields} fields, ${taps} taps, ${keys} keys, ${s.toFixed(0)} s`);
  assert.ok(s < 45, 'keystroke-level model: ' + s);
  await follow(page, () => page.getByRole('button', { name: 'Save and sign' }).click());
  await page.waitForURL(/\/sign/);
  await page.goto(at + '/log');
  const newest = await page.locator('.log > li').first().innerText();
  const bed = same.match(/bed ([^;]+)/);
  assert.ok(bed && newest.includes(bed[1].split(',')[0]), newest);
  await browser.stop();
});

test('a half-written visit survives, sealed, for its person alone', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await open(page, 'Henrietta Swann');
  await page.goto(at + '/visit');
  await page.locator('[name="pain"]').fill('7');
  await page.locator('[name="signs"][value="none"]').check();
  await page.waitForFunction(() => Object.keys(localStorage).some((n) => n.startsWith('lowtide-draft:')));
  await page.waitForTimeout(600);
  const kept = await page.evaluate(() => JSON.stringify(localStorage));
  assert.ok(!kept.includes('pain') && !kept.includes('Swann'), 'it is kept sealed');
  page.on('dialog', (d) => d.accept());
  await page.goto(at + '/visit'); // as after a battery that ran out
  assert.equal(await page.locator('[name="pain"]').inputValue(), '');
  await page.getByRole('button', { name: 'Go on with it' }).click();
  assert.equal(await page.locator('[name="pain"]').inputValue(), '7');
  assert.ok(await page.locator('[name="signs"][value="none"]').isChecked());
  assert.deepEqual(await violations(page), []);
  // Another person on the same device has another key and another name: nothing is offered, nothing can be read.
  const before = await page.locator('form[data-draft]').getAttribute('data-draft');
  await page.goto(demo.origin + '/who');
  await page.locator('[name="name"][value="j.okafor"]').check();
  await follow(page, () => page.getByRole('button', { name: 'Go on' }).click());
  await page.goto(at + '/visit');
  const form = page.locator('form[data-draft]');
  if (await form.count() > 0) assert.notEqual(await form.getAttribute('data-draft'), before);
  assert.equal(await page.getByRole('button', { name: 'Go on with it' }).count(), 0);
  await menu(page, 'Leave');
  await page.waitForFunction(() => !Object.keys(localStorage).some((n) => n.startsWith('lowtide-draft:')));
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
