// The Week on a phone, a laptop and paper: axe-core finds nothing, nothing is wider than the screen; a plan is taken, a visit
// is moved with keys and by its form, somebody falls ill and who must be told is listed; what is typed wrong comes back.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { join } from 'node:path';
import { Browser, Demo, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`the Week's pages on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const wrong = [];
    for (const path of ['/week', '/week/day', '/week/set', '/week/calendar', '/week/weigh']) {
      const res = await page.goto(demo.origin + path);
      assert.equal(res?.status(), 200, path);
      await page.screenshot({ path: join(out, `week-${name}${path.replace(/\W+/g, '-')}.png`), fullPage: true });
      for (const d of await page.locator('main details').all()) await d.evaluate((e) => { /** @type {HTMLDetailsElement} */ (e).open = true; });
      for (const v of await violations(page)) wrong.push(`${path}: ${v}`);
      const wide = await overflow(page);
      if (wide > 0) wrong.push(`${path}: ${wide} px wider than the screen`);
      const words = await page.locator('body').innerText();
      if (/\bNaN\b|undefined|%!|<nil>|\bInf\b/.test(words)) wrong.push(`${path}: shows a programming word`);
    }
    assert.deepEqual(wrong, []);
    assert.deepEqual(browser.outside, [], 'requests that left the machine');
    await browser.stop();
  });
}

test('a plan is taken, a visit moved with keys, and who must be told is listed', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/week');
  await page.emulateMedia({ media: 'print' });
  await page.screenshot({ path: join(out, 'week-print.png'), fullPage: true });
  await page.emulateMedia({ media: 'screen' });
  await follow(page, () => page.getByRole('button', { name: 'Take this plan' }).click());
  assert.match(await page.locator('p.lead').innerText(), /As it was told/);

  // Rounds, the day and its file say the same.
  await page.goto(demo.origin + '/');
  await page.screenshot({ path: join(out, 'week-rounds.png') });
  assert.match(await page.locator('main').innerText(), /(Next visit|The visit was planned for) .*, by M\. Thorne/);
  await page.goto(demo.origin + '/week/day');
  assert.match(await page.locator('main').innerText(), /visits; the first at/);
  const first = await page.locator('ol.day li').first().innerText();
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: /Save this day as a file/ }).click()]);
  const saved = await page.context().newPage();
  await file.saveAs(join(out, 'my-day.html'));
  await saved.goto('file://' + join(out, 'my-day.html'));
  assert.equal((await saved.locator('ol.day li').first().innerText()).split('\n')[0], first.split('\n')[0]);
  assert.equal(await saved.locator('a, script, img, link').count(), 0, 'the file needs nothing else');
  await saved.screenshot({ path: join(out, 'week-day-file.png'), fullPage: true });
  await saved.close();
  await page.goto(demo.origin + '/week');

  // Alt and the down arrow on a visit gives it to the next nurse, and it stays there.
  const visit = page.locator('table.week tbody tr').first().locator('details.visit').last();
  const who = await visit.getAttribute('data-case');
  await visit.locator('summary').focus();
  await follow(page, () => page.keyboard.press('Alt+ArrowDown'));
  const moved = page.locator(`details.visit.fixed[data-case="${who}"]`);
  assert.equal(await moved.count(), 1, 'the visit is where it was put');
  await page.screenshot({ path: join(out, 'week-moved.png'), fullPage: true });

  // Somebody cannot come today.
  await page.locator('summary', { hasText: 'Somebody cannot come' }).click();
  const form = page.locator('form[action="/week/off"]');
  await follow(page, () => form.getByRole('button', { name: 'Plan without her' }).click());
  await page.getByRole('heading', { name: 'Who must be told' }).waitFor();
  assert.ok(await page.locator('#tell li').count() > 0, 'somebody to tell');
  await page.screenshot({ path: join(out, 'week-ill.png'), fullPage: true });
  await browser.stop();
});

test('a moved visit goes back by its form, and what is typed wrong comes back', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/week/set');
  await page.locator('summary', { hasText: 'Where a place is' }).click();
  const form = page.locator('form[action="/week/place"]');
  await form.getByLabel('Place, as it stands in the case').fill('Cloud Farm, above the pass');
  await form.getByLabel('Kilometres east (west: minus)').fill('twelve');
  await follow(page, () => form.getByRole('button', { name: 'Save the place' }).click());
  assert.match(await page.locator('.problems').innerText(), /"twelve" is not a number/);
  assert.equal(await form.getByLabel('Kilometres east (west: minus)').inputValue(), 'twelve');
  await form.getByLabel('Kilometres east (west: minus)').fill('9.5');
  await form.getByLabel('Kilometres north (south: minus)').fill('11');
  await follow(page, () => form.getByRole('button', { name: 'Save the place' }).click());
  assert.match(await page.locator('main').innerText(), /9.5 km east, 11 km north/);
  await browser.stop();
});

test('a calendar address shows visits without names, and ends', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/week/calendar');
  await page.getByRole('button', { name: 'Make an address' }).click();
  const address = await page.getByText(/\/calendar\/[0-9a-f]{40}\.ics/).innerText();
  const ics = await (await fetch(address)).text();
  assert.match(ics, /^BEGIN:VCALENDAR\r\n/);
  assert.match(ics, /BEGIN:VEVENT/);
  assert.doesNotMatch(ics, /Farrow|Lantern|LOCATION/);
  await page.goto(demo.origin + '/week/calendar');
  await follow(page, () => page.getByRole('button', { name: 'End the address' }).click());
  assert.equal((await fetch(address)).status, 404);
  await browser.stop();
});
