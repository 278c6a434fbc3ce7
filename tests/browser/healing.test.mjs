// How a wound heals and what is decided, on a phone and on a laptop: axe-core finds nothing, nothing is wider than the
// screen, and a decision is written with the keys.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { join } from 'node:path';
import { Browser, Demo, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/** The case of a patient. @param {import('playwright-core').Page} page @param {string} name */
async function caseOf(page, name) {
  await page.goto(demo.origin + '/');
  const href = await page.getByRole('link', { name }).first().getAttribute('href');
  assert.ok(href, name);
  return href;
}

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`the pages of wound and decision on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const wrong = [];
    for (const who of ['Edda Farrow', 'Casimir Nowak', 'Henrietta Swann', 'Abel Quarrington', 'Magnus Eklund']) {
      const home = await caseOf(page, who);
      for (const path of [home + '/wound/A', home + '/decision']) {
        const res = await page.goto(demo.origin + path);
        assert.equal(res?.status(), 200, path);
        for (const d of await page.locator('main details').all()) await d.evaluate((e) => { /** @type {HTMLDetailsElement} */ (e).open = true; });
        for (const v of await violations(page)) wrong.push(`${who} ${path}: ${v}`);
        const wide = await overflow(page);
        if (wide > 0) wrong.push(`${who} ${path}: ${wide} px wider than the screen`);
        const words = await page.locator('body').innerText();
        if (!words.includes('invented') || !words.includes('does not replace clinical judgement')) wrong.push(`${path}: no caution`);
        if (/\bNaN\b|picture cannot be drawn|undefined|%!|<nil>|\bInf\b/.test(words)) wrong.push(`${path}: shows a programming word`);
      }
      if (who === 'Edda Farrow' || who === 'Casimir Nowak') {
        await page.goto(demo.origin + home + '/wound/A');
        await page.screenshot({ path: join(out, `wound-${who.split(' ')[0]}-${name}.png`), fullPage: true });
        await page.goto(demo.origin + home + '/decision');
        await page.screenshot({ path: join(out, `decision-${who.split(' ')[0]}-${name}.png`), fullPage: true });
      }
    }
    assert.deepEqual(wrong, []);
    assert.deepEqual(browser.outside, [], 'requests that left the machine');
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

test('a wound that grows says so, in words for the nurse and for the patient', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const home = await caseOf(page, 'Casimir Nowak');
  await page.goto(demo.origin + home);
  await follow(page, () => page.getByRole('link', { name: /Wound A heals/ }).click());
  const words = await page.locator('main').innerText();
  assert.match(words, /In plain words, for the patient: Beside \d+ \w+ the surface of the wound is [a-z ]*larger?/);
  assert.match(words, /published: |Published: /i);
  assert.ok(await page.getByRole('img', { name: /Healing of wound A/ }).first().isVisible());
  await browser.stop();
});

test('a decision is written by keys (its date apart), and its day shows on the case', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const home = await caseOf(page, 'Edda Farrow');
  await page.goto(demo.origin + home + '/decision');
  /** Moves on by Tab until the control is focused. @param {string} name */
  const reach = async (name) => {
    for (let i = 0; i < 200; i++) {
      await page.keyboard.press('Tab');
      if (await page.evaluate((n) => document.activeElement?.getAttribute('name') === n, name)) return;
    }
    throw new Error('no key leads to ' + name);
  };
  await reach('choice');
  await page.keyboard.press('Space');
  assert.equal(await page.evaluate(() => /** @type {HTMLInputElement} */ (document.activeElement).value), 'continue');
  await reach('by');
  await page.keyboard.type('Dr I. Vance');
  const next = new Date(demo.now() + 10 * 86400e3).toISOString().slice(0, 10);
  await page.locator('[name="next_at"]').fill(next + 'T12:00');
  await reach('reasons');
  await page.keyboard.type('Depth falls by a sixth a week.');
  await reach('unsure');
  await page.keyboard.type('Four sizes, all by ruler.');
  for (let i = 0; i < 60; i++) {
    await page.keyboard.press('Tab');
    if (await page.evaluate(() => document.activeElement?.textContent === 'Save the decision')) break;
  }
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL(/saved=/);
  const words = await page.locator('main').innerText();
  assert.match(words, /The next decision is due by/);
  assert.match(words, /Decided: continue/);
  await browser.stop();
});

test('a goal of granulation and the patient\'s wish are to be seen', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const home = await caseOf(page, 'Desmond Achebe');
  await page.goto(demo.origin + home + '/wound/A');
  assert.match(await page.locator('main').innerText(), /Goal: bed level and granulated[^\n]*\s+about [\w ]+, four times in five/);
  await page.goto(demo.origin + await caseOf(page, 'Casimir Nowak') + '/decision');
  assert.match(await page.locator('main').innerText(), /The patient's wish\s+yes\s+on \d+ \w+ \d{4} the patient wished to stop/);
  await browser.stop();
});
