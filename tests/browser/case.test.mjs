// The page of a case: light, short before its first button; the line of steps of a new patient; the body map by finger and by
// keys; and how long the largest paint takes on a slow phone and a slow line, which is printed.
// @ts-check
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { gzipSync } from 'node:zlib';
import { Browser, Demo, follow, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/** The addresses of all cases on Rounds, by name. @param {import('playwright-core').Page} page */
async function cases(page) {
  await page.goto(demo.origin + '/');
  return page.evaluate(() => [...document.querySelectorAll('.rounds h3 a')].map((a) => ({ name: a.textContent?.trim() ?? '', href: a.getAttribute('href') ?? '' })));
}

test('every case is light, and few words stand before its first button', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const list = await cases(page);
  assert.ok(list.length >= 20);
  let plain = 0, wire = 0, words = 0, heavy = '';
  for (const { name, href } of list) {
    const html = await (await page.request.get(demo.origin + href)).body();
    const packed = gzipSync(html, { level: 6 }).length;
    if (html.length > plain) heavy = name;
    plain = Math.max(plain, html.length);
    wire = Math.max(wire, packed);
    assert.ok(html.length < 62_000, `${name}: ${html.length} bytes`);
    assert.ok(packed < 14_000, `${name}: ${packed} bytes on the wire`);
    await page.goto(demo.origin + href);
    const before = await page.evaluate(() => {
      const main = document.querySelector('main');
      const first = document.querySelector('main .decides .button, main .actions .button');
      if (!main || !first) return 999;
      const range = document.createRange();
      range.setStart(main, 0);
      range.setEndBefore(first);
      return range.toString().split(/\s+/).filter(Boolean).length;
    });
    words = Math.max(words, before);
    assert.ok(before < 25, `${name}: ${before} words before the first button`);
  }
  console.log(`case: at most ${plain} bytes (${heavy}), ${wire} on the wire, ${words} words before the first button`);
  await browser.stop();
});

test('a new patient: what is done and what is next, and each answer is asked once', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/case/new');
  await page.locator('[name="person/name"]').fill('Nora Invented');
  await page.locator('[name="person/place"][value="home"]').check();
  await page.locator('[name="wound/type"][value="pressure"], [name="wound/type"] option[value="pressure"]').first().evaluate((el) => {
    if (el instanceof HTMLInputElement) el.checked = true;
    else if (el instanceof HTMLOptionElement) el.selected = true;
  });
  await page.locator('[name="wound/infected"][value="false"]').check();
  // A finger on the drawing chooses place and side, and fills the words only while they are empty.
  const spot = page.locator('.body .spot[data-spot="heel"][data-side="left"]');
  await spot.scrollIntoViewIfNeeded();
  const box = await spot.boundingBox();
  assert.ok(box);
  await page.touchscreen.tap(box.x + box.width / 2 + 3, box.y + box.height / 2 + 2);
  assert.equal(await page.locator('[name="wound/spot"]').inputValue(), 'heel');
  assert.ok(await page.locator('[name="wound/side"][value="left"]').isChecked());
  assert.equal(await page.locator('[name="wound/site"]').inputValue(), 'left heel');
  await page.locator('[name="wound/site"]').fill('right heel, outer side');
  assert.deepEqual(await violations(page), []);
  await page.screenshot({ path: join(out, 'new-case-phone.png'), fullPage: true });
  // Words and map that name two sides are asked about; nothing is changed by itself.
  await follow(page, () => page.locator('.save button').first().click());
  assert.match(await page.locator('.problems').innerText(), /body map says left/);
  assert.equal(await page.locator('[name="wound/site"]').inputValue(), 'right heel, outer side');
  // By keys alone.
  await page.locator('[name="wound/side"][value="right"]').focus();
  await page.keyboard.press('Space');
  assert.ok(await page.locator('[name="wound/side"][value="right"]').isChecked());
  await follow(page, () => page.locator('.save button').first().click());
  await page.waitForURL(/\/case\/[0-9a-f-]{36}\?saved=/);
  const home = page.url().split('?')[0];
  const steps = () => page.locator('.start li').allInnerTexts();
  const now = (await steps()).map((x) => x.replace(/\s+/g, ' '));
  assert.equal(now.length, 7, String(now));
  assert.match(now[0], /Screening next/);
  assert.ok(!/No rule asks/.test(await page.locator('main').innerText()));
  assert.match(await page.locator('svg.body').getAttribute('aria-label') ?? '', /wound A, right heel/);
  assert.deepEqual(await violations(page), []);
  assert.equal(await overflow(page), 0);
  await page.screenshot({ path: join(out, 'new-patient-phone.png'), fullPage: true });
  await follow(page, () => page.locator('.start a', { hasText: 'Screening' }).click());
  assert.ok(await page.locator('[name="answers/infected_wound"][value="no"]').isChecked(), 'the wound\'s entry said so');
  for (const box of await page.locator('[name^="answers/"][value="no"]').all()) await box.check();
  await follow(page, () => page.locator('.save button').first().click());
  await page.goto(home);
  assert.match((await steps()).join(' ').replace(/\s+/g, ' '), /Screening done Order next/);
  assert.deepEqual(browser.complaints.filter((x) => !x.includes('422')), [], 'but for the form that was refused');
  assert.deepEqual(browser.outside, []);
  await browser.stop();
});

test('the largest paint on a slow phone and a slow line', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const list = await cases(page);
  const slow = await browser.context.newCDPSession(page);
  await slow.send('Network.enable');
  await slow.send('Network.setCacheDisabled', { cacheDisabled: true });
  await slow.send('Network.emulateNetworkConditions', { offline: false, latency: 300, downloadThroughput: 50_000, uploadThroughput: 50_000 });
  await slow.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  const osric = list.find((x) => x.name === 'Osric Pell')?.href ?? '';
  for (const path of ['/', osric, osric + '/visit']) {
    await page.goto(demo.origin + path);
    const ms = await page.evaluate(() => new Promise((done) => {
      let last = 0;
      new PerformanceObserver((l) => { for (const e of l.getEntries()) last = e.startTime; }).observe({ type: 'largest-contentful-paint', buffered: true });
      setTimeout(() => done(last), 500);
    }));
    console.log(`largest paint of ${path.replace(/[0-9a-f-]{36}/, 'CASE')}: ${(ms / 1000).toFixed(2)} s, nothing cached`);
    assert.ok(ms > 0);
  }
  await browser.stop();
});
