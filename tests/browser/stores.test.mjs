// Stores, the bag and the payer, on a phone and on a laptop: axe-core finds nothing, nothing is wider than the screen,
// a tick outlasts a reload with and without script, and the stores role sees no patient.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { join } from 'node:path';
import { Browser, Demo, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

const patients = ['Edda Farrow', 'Casimir Nowak', 'Tobias Wendt', 'Coralie Duquesne', 'Abel Quarrington'];

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`Stores, bag and payer on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const wrong = [];
    await page.goto(demo.origin + '/');
    const casimir = await page.getByRole('link', { name: 'Casimir Nowak' }).first().getAttribute('href');
    for (const path of ['/stores', '/bag', '/bag?ahead=1', '/stores/lot?lot=D-77', '' + casimir]) {
      const res = await page.goto(demo.origin + path);
      assert.equal(res?.status(), 200, path);
      await page.screenshot({ path: join(out, `stores-${name}-${path.replace(/\W+/g, '-').slice(0, 12)}.png`), fullPage: true });
      for (const d of await page.locator('main details').all()) await d.evaluate((e) => { /** @type {HTMLDetailsElement} */ (e).open = true; });
      for (const v of await violations(page)) wrong.push(`${path}: ${v}`);
      const wide = await overflow(page);
      if (wide > 0) wrong.push(`${path}: ${wide} px wider than the screen`);
      const words = await page.locator('body').innerText();
      if (/\bNaN\b|picture cannot be drawn|undefined|%!|<nil>|\bInf\b/.test(words)) wrong.push(`${path}: shows a programming word`);
      if (path === '/stores') for (const p of patients) if (words.includes(p)) wrong.push(`Stores names ${p}`);
    }
    assert.deepEqual(wrong, []);
    assert.deepEqual(browser.outside, [], 'requests that left the machine');
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

for (const script of [true, false]) {
  test(`a tick in the bag outlasts a reload, ${script ? 'with' : 'without'} script`, async () => {
    const browser = await Browser.start(phone, { script });
    const page = await browser.enter(demo);
    await page.goto(demo.origin + '/bag');
    const box = page.locator('form.bag input[type=checkbox]').nth(script ? 0 : 1);
    assert.equal(await box.isChecked(), false);
    const target = await page.locator('form.bag label').first().boundingBox();
    assert.ok(target && target.height >= 44 && target.width > 250, 'a target for a thumb');
    if (script) {
      await box.focus();
      await page.keyboard.press('Space');
      await page.getByText('Kept.').waitFor();
    } else {
      await box.check();
      await follow(page, () => page.getByRole('button', { name: 'Keep what is ticked' }).click());
    }
    await page.reload();
    assert.equal(await box.isChecked(), true);
    await browser.stop();
  });
}

test('the stores role starts at Stores and sees no patient', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/who');
  await page.getByLabel(/S\. Amani/).check();
  await follow(page, () => page.getByRole('button', { name: 'Go on' }).click());
  await page.goto(demo.origin + '/');
  assert.equal(await page.locator('h1').innerText(), 'Stores');
  const words = await page.locator('body').innerText();
  for (const p of patients) assert.ok(!words.includes(p), p);
  assert.match(words, /Recalled: 1?\d+ of dense foam kit/);
  assert.equal((await page.goto(demo.origin + '/bag'))?.status(), 403);
  assert.equal((await page.goto(demo.origin + '/stores/lot?lot=D-77'))?.status(), 403);
  await browser.stop();
});

test('the bag prints its boxes', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/bag');
  await page.emulateMedia({ media: 'print' });
  assert.ok(await page.locator('form.bag input[type=checkbox]').first().isVisible());
  assert.equal(await page.getByRole('button', { name: 'Keep what is ticked' }).isVisible(), false);
  for (const format of ['A4', 'Letter']) await page.pdf({ path: join(out, `bag-${format}.pdf`), format });
  await browser.stop();
});
