// A pump's log, on a phone and on a laptop: what it tells, how a file is looked at, corrected and imported with the keys,
// with and without script; axe-core finds nothing.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Browser, Demo, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/** @param {import('playwright-core').Page} page @param {string} name */
async function logOf(page, name) {
  await page.goto(demo.origin + '/');
  const href = await page.getByRole('link', { name }).first().getAttribute('href');
  assert.ok(href, name);
  return href + '/pump-log';
}

/** A log of one day up to two hours ago, a row in five minutes, in kPa with a decimal comma. */
function file() {
  const rows = ['Datum;Uhrzeit;Unterdruck;Akku'];
  const end = demo.now() - 2 * 3600e3;
  for (let t = end - 24 * 3600e3; t < end; t += 300e3) {
    const d = new Date(t).toISOString();
    rows.push(`${d.slice(8, 10)}.${d.slice(5, 7)}.${d.slice(0, 4)};${d.slice(11, 16)};-16,7;80`);
  }
  rows.push('Ende;;;');
  const path = join(mkdtempSync(join(tmpdir(), 'lowtide-log-')), 'pumpe.csv');
  writeFileSync(path, rows.join('\r\n'));
  return path;
}

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`what logs tell, on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const wrong = [];
    for (const who of ['Edda Farrow', 'Ines Caldeira', 'Coralie Duquesne', 'Abel Quarrington', 'Osric Pell']) {
      const path = await logOf(page, who);
      const res = await page.goto(demo.origin + path);
      assert.equal(res?.status(), 200, path);
      for (const v of await violations(page)) wrong.push(`${who}: ${v}`);
      const wide = await overflow(page);
      if (wide > 0) wrong.push(`${who}: ${wide} px wider than the screen`);
      const words = await page.locator('body').innerText();
      if (!words.includes('neither on nor off') || !words.includes('does not replace clinical judgement')) wrong.push(`${who}: no caution`);
      if (/\bNaN\b|picture cannot be drawn|undefined|%!|<nil>|\bInf\b/.test(words)) wrong.push(`${who}: shows a programming word`);
      if (who === 'Ines Caldeira' || who === 'Edda Farrow') await page.screenshot({ path: join(out, `pumplog-${who.split(' ')[0]}-${name}.png`), fullPage: true });
    }
    await page.goto(demo.origin + (await logOf(page, 'Coralie Duquesne')).replace('/pump-log', '?days=7#tide'));
    await page.screenshot({ path: join(out, `pumplog-tide-${name}.png`), fullPage: false });
    assert.deepEqual(wrong, []);
    assert.deepEqual(browser.outside, []);
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });

  test(`a log is imported on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    await page.goto(demo.origin + await logOf(page, name === 'phone' ? 'Kofi Mensah-Lowe' : 'Yasmin Bello'));
    await page.getByLabel('File', { exact: true }).setInputFiles(file());
    await page.getByText('What the columns mean', { exact: true }).waitFor();
    assert.equal(await page.locator('#f-unit-3').inputValue(), 'kPa');
    assert.equal(await page.locator('#f-means-1').inputValue(), 'date');
    assert.deepEqual(await violations(page), []);
    assert.ok(await overflow(page) <= 0);
    await page.screenshot({ path: join(out, `pumplog-import-${name}.png`), fullPage: true });
    // With the keys alone: from the file on to the button.
    await page.locator('#f-file').focus();
    await page.keyboard.press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement?.textContent), 'Import');
    await follow(page, () => page.keyboard.press('Enter'));
    await page.waitForURL(/saved=/);
    const words = await page.locator('main').innerText();
    assert.match(words, /24 h \(100 %\)/);
    assert.match(words, /Day by day/i);
    await page.goto(page.url().replace(/\/pump-log.*/, '/log?kind=log.imported'));
    assert.match(await page.locator('main').innerText(), /cannot be read: Ende/);
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

test('without script a file is looked at when it is sent, and chosen again', async () => {
  const browser = await Browser.start(laptop, { script: false });
  const page = await browser.enter(demo);
  await page.goto(demo.origin + await logOf(page, 'Nell Hargreave'));
  await page.getByLabel('File', { exact: true }).setInputFiles(file());
  await follow(page, () => page.getByRole('button', { name: 'Look at the file first' }).click());
  assert.match(await page.locator('main').innerText(), /What the columns mean/);
  await page.locator('#f-means-4').selectOption('');
  await page.getByLabel('File', { exact: true }).setInputFiles(file());
  await follow(page, () => page.getByRole('button', { name: 'Import' }).click());
  assert.match(page.url(), /saved=/);
  await browser.stop();
});
