// Every page, on a phone and on a laptop: axe-core finds nothing, nothing is wider than the screen, no request
// leaves the machine, and pages that only show are complete without script.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, Demo, laptop, menu, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

const kinds = ['person.registered', 'wound.found', 'screening.done', 'order.written', 'order.stopped', 'pump.assigned', 'pump.returned', 'dressing.changed', 'pieces.accounted',
  'wound.measured', 'canister.read', 'alarm.reported', 'power.noted', 'supply.moved', 'teaching.given', 'note.written', 'therapy.ended', 'decision.made'];

/** Addresses of every kind of page. @param {import('playwright-core').Page} page */
async function addresses(page) {
  await page.goto(demo.origin + '/');
  const cases = await page.evaluate(() => [...new Set([...document.querySelectorAll('a[href^="/case/"]')].map((a) => a.getAttribute('href') ?? '').filter((h) => /^\/case\/[0-9a-f-]{36}$/.test(h)))]);
  assert.equal(cases.length, 24);
  const osric = await page.getByRole('link', { name: 'Osric Pell' }).first().getAttribute('href');
  const abel = await page.getByRole('link', { name: 'Abel Quarrington' }).first().getAttribute('href');
  await page.goto(demo.origin + abel + '/log');
  const correct = await page.evaluate(() => document.querySelector('a[href*="/correct/"]')?.getAttribute('href'));
  assert.ok(correct, 'the log offers a correction');
  // A photo with strips and nothing confirmed, and an edge on two dates.
  const casimir = await page.goto(demo.origin + '/').then(() => page.getByRole('link', { name: 'Casimir Nowak' }).first().getAttribute('href'));
  const wilfred = await page.getByRole('link', { name: 'Wilfred Oakshott' }).first().getAttribute('href');
  await page.goto(demo.origin + casimir + '/photo');
  const photo = await page.locator('#photos').getByRole('link').first().getAttribute('href');
  assert.match(photo ?? '', /\/outline\//);
  await page.goto(demo.origin + wilfred + '/photo');
  const outlined = await page.locator('#photos').getByRole('link').first().getAttribute('href');
  assert.match(outlined ?? '', /\/outline\//);
  return {
    few: [casimir + '/photo', photo, outlined, wilfred + '/wound/A/edge', '/', '/?level=Act+now', '/?when=today', '/rules', '/sources', '/rules/VIS-OFF-01', '/rules/CNT-MISSING-01', '/about', '/bench', '/pumps', '/case/new', osric, osric + '/bench', osric + '/log', osric + '/visit', osric + '/add', osric + '/sign', osric + '/wound/A', osric + '/decision', osric + '/papers', osric + '/bring', osric + '/paper/progress', osric + '/paper/handover', osric + '/paper/leaflet?lang=es', osric + '/bench', '/bench', abel, abel + '/log', abel + '/visit', correct],
    forms: kinds.map((k) => osric + '/add/' + k),
    cases,
  };
}

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`every page on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const { few, forms, cases } = await addresses(page);
    const wrong = [];
    for (const path of [...few, ...forms, ...cases]) {
      const res = await page.goto(demo.origin + path);
      // The visit is the form of dressing.changed.
      assert.equal(res?.status(), 200, path);
      for (const v of await violations(page)) wrong.push(`${path}: ${v}`);
      const wide = await overflow(page);
      if (wide > 0) wrong.push(`${path}: ${wide} px wider than the screen`);
      const words = await page.locator('body').innerText();
      if (!words.includes('invented')) wrong.push(`${path}: does not say that the patients are invented`);
      if (!words.includes('does not replace clinical judgement')) wrong.push(`${path}: shows no cautions`);
      if (/\bNaN\b|picture cannot be drawn|undefined|%!|&lt;nil&gt;|<nil>/.test(words)) wrong.push(`${path}: shows a programming word`);
    }
    assert.deepEqual(wrong, []);
    assert.deepEqual(browser.outside, [], 'requests that left the machine');
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

test('pages are the same without script', async () => {
  const browser = await Browser.start(laptop, { script: false });
  const page = await browser.enter(demo);
  for (const path of ['/', '/rules', '/about']) {
    const res = await page.goto(demo.origin + path);
    assert.equal(res?.status(), 200);
    assert.ok((await page.locator('main').innerText()).length > 200, path);
  }
  await browser.stop();
});

test('Rounds filters by level, nurse and day', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const names = async () => page.evaluate(() => [...document.querySelectorAll('main h3 a[href^="/case/"]')].map((a) => a.textContent));
  const all = await names();
  assert.ok(all.includes('Edda Farrow') && all.includes('Bram Achterberg'));
  await page.goto(demo.origin + '/?level=Act+now');
  const urgent = await names();
  assert.ok(urgent.includes('Bram Achterberg') && !urgent.includes('Edda Farrow'), String(urgent));
  await page.goto(demo.origin + '/?nurse=J.+Okafor');
  const hers = await names();
  assert.ok(hers.length > 0 && hers.length < all.length);
  await browser.stop();
});

test('Rounds is short, light and finds a name', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/');
  const seen = await page.evaluate(() => ({
    header: document.querySelector('header.top')?.getBoundingClientRect().height ?? 999,
    bytes: document.documentElement.outerHTML.length,
    before: (document.querySelector('main')?.innerText ?? '').split('Yours')[0].split(/\s+/).filter(Boolean).length,
    low: [...document.querySelectorAll('main a, main button, main summary, main input')].filter((x) => x.getBoundingClientRect().height > 0 && !x.closest('p') && !x.closest('h3') && !x.closest('label') && x.getBoundingClientRect().height < 43.9).map((x) => x.outerHTML.slice(0, 80)),
  }));
  assert.ok(seen.header < 90, 'header ' + seen.header);
  assert.ok(seen.bytes < 60_000, 'bytes ' + seen.bytes);
  assert.ok(seen.before < 25, 'words before the first patient: ' + seen.before);
  assert.deepEqual(seen.low, []);
  await page.getByRole('searchbox', { name: 'Name' }).fill('swann');
  await page.keyboard.press('Enter');
  await page.waitForURL(/name=swann/);
  assert.deepEqual(await page.locator('main h3').allInnerTexts(), ['Henrietta Swann']);
  await browser.stop();
});

test('pages are dark by the device and by the switch, and without violations', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const paper = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  await page.goto(demo.origin + '/');
  assert.equal(await paper(), 'rgb(255, 255, 255)');
  await page.emulateMedia({ colorScheme: 'dark' });
  assert.equal(await paper(), 'rgb(16, 24, 28)');
  const osric = await page.getByRole('link', { name: 'Osric Pell' }).first().getAttribute('href');
  const wrong = [];
  for (const path of ['/', osric, osric + '/visit', osric + '/wound/A', osric + '/log', osric + '/call', '/week', '/stores', '/rules', '/bench']) {
    await page.goto(demo.origin + path);
    for (const v of await violations(page)) wrong.push(`${path}: ${v}`);
  }
  assert.deepEqual(wrong, []);
  await menu(page, 'Light');
  await page.waitForFunction(() => getComputedStyle(document.body).backgroundColor === 'rgb(255, 255, 255)');
  await page.emulateMedia({ colorScheme: 'light' });
  await menu(page, 'Dark');
  await page.waitForFunction(() => getComputedStyle(document.body).backgroundColor === 'rgb(16, 24, 28)');
  await page.goto(demo.origin + '/rules');
  assert.equal(await paper(), 'rgb(16, 24, 28)', 'it is kept on this device');
  await browser.stop();
});

test('nothing opens without the link, and a link opens once', async () => {
  const link = await demo.link();
  const inside = await fetch(link, { redirect: 'manual' });
  assert.equal(inside.status, 303);
  assert.equal((await fetch(link, { redirect: 'manual' })).status, 403);
  for (const path of ['/', '/rules', '/case/new', '/about']) {
    const res = await fetch(demo.origin + path);
    assert.equal(res.status, 401, path);
    assert.ok(!(await res.text()).includes('Osric'), path);
  }
  const cookie = (inside.headers.get('set-cookie') ?? '').split(';')[0];
  assert.match(inside.headers.get('set-cookie') ?? '', /HttpOnly.*SameSite=Strict/);
  assert.equal((await fetch(demo.origin + '/', { headers: { cookie } })).status, 200);
  // A form of another site, or one that claims to be, is refused.
  const body = new URLSearchParams({ name: 'x' });
  for (const headers of [{ 'sec-fetch-site': 'cross-site' }, { origin: 'https://elsewhere.example' }]) {
    const res = await fetch(demo.origin + '/case/new', { method: 'POST', body, headers: { cookie, ...headers } });
    assert.equal(res.status, 403, JSON.stringify(headers));
  }
  const huge = await fetch(demo.origin + '/case/new', { method: 'POST', body: 'a='.padEnd(400_000, 'x'), headers: { cookie, 'content-type': 'application/x-www-form-urlencoded' } });
  assert.equal(huge.status, 413);
});
