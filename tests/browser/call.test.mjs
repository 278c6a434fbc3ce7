// The Call desk: by keyboard alone, on a phone, without script, and taken over on another device.
// @ts-check
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, laptop, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/** Presses a button and waits for the page that follows. @param {import('playwright-core').Page} page @param {string | RegExp} name */
async function press(page, name) {
  await follow(page, () => page.getByRole('button', { name, exact: typeof name === 'string' }).click());
}

/** Starts a call about a patient of the demo. @param {import('playwright-core').Page} page @param {string} name */
async function start(page, name) {
  await page.goto(demo.origin + '/call?q=' + encodeURIComponent(name));
  await press(page, new RegExp('Start the call: ' + name));
}

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`axe-core and the width of every step on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const look = async () => {
      await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
      assert.deepEqual(await violations(page), [], page.url());
      assert.equal(await overflow(page), 0, page.url());
    };
    await page.goto(demo.origin + '/call?q=a');
    await look();
    await page.goto(demo.origin + '/call/found');
    await look();
    await start(page, 'Edda Farrow');
    await look();
    await press(page, 'Cannot tell');
    await look();
    await press(page, 'I read it out, go on');
    // Somebody looked: blood is asked once more, then the other dangers.
    for (let i = 0; i < 4; i++) await press(page, 'No');
    await look();
    await press(page, '2 h or more');
    await look();
    await press(page, 'I said it, go on');
    await look();
    // Answers are as wide as a hand needs, and large enough to hit.
    await start(page, 'Desmond Achebe');
    for (const b of await page.locator('.answers button').all()) {
      const box = await b.boundingBox();
      assert.ok(box && box.height >= 48 && box.width >= 250, JSON.stringify(box));
    }
    const said = await page.locator('#call-say').evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
    assert.ok(said >= 20, 'what is read out is ' + said + ' px');
    assert.deepEqual(browser.outside, []);
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

test('a call by keyboard alone, from the desk to its end', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await page.goto(demo.origin + '/call');
  // To the field by Tab, the name, Enter; then to the button and Enter.
  const tabTo = async (/** @type {string} */ what) => {
    for (let i = 0; i < 70; i++) { // a guard against going round for ever
      await page.keyboard.press('Tab');
      const on = await page.evaluate(() => { const e = document.activeElement; return (e?.getAttribute('name') ?? '') + ' ' + (e?.getAttribute('aria-label') ?? '') + ' ' + (e?.textContent ?? ''); });
      if (on.includes(what)) return;
    }
    assert.fail('Tab never came to ' + what);
  };
  await tabTo('q ');
  await page.keyboard.type('Nell');
  await follow(page, () => page.keyboard.press('Enter'));
  await tabTo('Start the call: Nell Hargreave');
  await follow(page, () => page.keyboard.press('Enter'));
  const key = async (/** @type {string} */ k) => { await follow(page, () => page.keyboard.press(k)); };
  for (let i = 0; i < 4; i++) await key('2'); // No, four times
  await page.getByText('Since when does the pump not draw?').waitFor();
  await key('1'); // It runs now
  for (let i = 0; i < 25 && await page.locator('.answers').count() > 0; i++) {
    const check = await page.getByRole('button', { name: 'That mended it' }).count();
    await key(check > 0 ? '1' : '2');
  }
  await page.getByRole('heading', { name: 'End of the call' }).waitFor();
  await tabTo('ended');
  await page.keyboard.type('Settled');
  await tabTo('End and write it down');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.getByText('Call ended: settled').first().waitFor();
  assert.deepEqual(browser.outside, []);
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});

test('a call begun on a laptop goes on on a phone', async () => {
  const one = await Browser.start(laptop);
  const page = await one.enter(demo);
  await page.goto(demo.origin + '/call');
  await page.getByLabel('Patient, as the caller says').fill('Mrs Lark');
  await page.getByLabel('Who calls').fill('her neighbour');
  await press(page, 'Start the call');
  await press(page, 'No');
  // Each link that the demo prints opens one browser: this is another device.
  const two = await Browser.start(phone);
  const other = await two.enter(demo);
  await other.goto(demo.origin + '/call');
  await follow(other, () => other.getByRole('link', { name: /Mrs Lark \(no case\)/ }).click());
  await other.getByText('short of breath').waitFor();
  await press(other, 'No');
  await page.reload();
  await page.getByText('fever or shivers').waitFor();
  await one.stop();
  await two.stop();
});

test('without script a call is plain forms', async () => {
  const plain = await Browser.start(phone, { script: false });
  const page = await plain.enter(demo);
  await start(page, 'Magnus Eklund');
  await press(page, 'Yes');
  await page.getByText('Switch the pump off.').waitFor();
  await press(page, 'I read it out, go on');
  for (let i = 0; i < 3; i++) await press(page, 'No');
  await page.getByRole('heading', { name: 'End of the call' }).waitFor();
  assert.equal(await page.getByLabel('How it ended').inputValue(), 'emergency help');
  await press(page, 'End and write it down');
  await page.getByText('A caller said yes').first().waitFor();
  await plain.stop();
});
