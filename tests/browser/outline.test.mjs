// Photo and Outline: with a finger on a phone, with a mouse, with keys alone, through a reload, and without script.
// @ts-check
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, menu, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

/** @typedef {import('playwright-core').Page} Page */

/** The address of a patient's case. @param {Page} page @param {string} name */
async function caseOf(page, name) {
  await page.goto(demo.origin + '/');
  const href = await page.getByRole('link', { name }).first().getAttribute('href');
  assert.ok(href, name);
  return demo.origin + href;
}

/** A painted photo: skin, a red ellipse of 240 by 160 pixels around (400, 320), and a line of 400 pixels as a ruler. @param {Page} page */
async function painted(page) {
  const data = await page.evaluate(() => {
    const c = document.createElement('canvas');
    c.width = 800;
    c.height = 600;
    const g = /** @type {CanvasRenderingContext2D} */ (c.getContext('2d'));
    g.fillStyle = '#d8a888';
    g.fillRect(0, 0, 800, 600);
    let seed = 7;
    for (let i = 0; i < 12000; i++) {
      seed = (seed * 16807) % 2147483647;
      const x = seed % 800;
      seed = (seed * 16807) % 2147483647;
      g.fillStyle = i % 2 ? 'rgba(190,140,110,0.35)' : 'rgba(240,200,170,0.35)';
      g.fillRect(x, seed % 600, 3, 3);
    }
    g.fillStyle = '#9c1f24';
    g.beginPath();
    g.ellipse(400, 320, 120, 80, 0, 0, 2 * Math.PI);
    g.fill();
    g.fillStyle = '#fff';
    g.fillRect(180, 40, 440, 50);
    g.fillStyle = '#000';
    for (let i = 0; i <= 10; i++) g.fillRect(199 + 40 * i, 50, 2, 30);
    return c.toDataURL('image/jpeg', 0.92);
  });
  const file = join(out, 'painted.jpg');
  writeFileSync(file, Buffer.from(data.split(',')[1], 'base64'));
  return file;
}

/** Uploads the painted photo and ends on its outline page. @param {Page} page @param {string} at */
async function upload(page, at) {
  const file = await painted(page);
  await page.goto(at + '/photo');
  await page.locator('input[type=file]').setInputFiles(file);
  const top = page.getByRole('radio', { name: 'top' });
  if (await top.count() > 0) await top.check();
  await follow(page, () => page.getByRole('button', { name: 'Keep the photo' }).click());
  await page.waitForURL(/\/outline\//);
}

/** Where a place of the photo is on the screen. @param {Page} page @param {number} x @param {number} y */
async function spot(page, x, y) {
  const box = await page.locator('#stage img').boundingBox();
  assert.ok(box);
  return { x: box.x + (x / 800) * box.width, y: box.y + (y / 600) * box.height };
}

/** Places along a loop that is 25 % too wide. @param {number} steps */
function rough(steps) {
  return [...Array(steps + 1).keys()].map((i) => [400 + 150 * Math.cos((i / steps) * 2 * Math.PI), 320 + 104 * Math.sin((i / steps) * 2 * Math.PI)]);
}

/** What is drawn. @param {Page} page */
async function drawing(page) {
  return JSON.parse(await page.locator('input[name=drawing]').inputValue());
}

/** @param {number[][]} line */
function area(line) {
  let twice = 0;
  line.forEach((p, i) => {
    const q = line[(i + 1) % line.length];
    twice += p[0] * q[1] - q[0] * p[1];
  });
  return Math.abs(twice) / 2;
}

/** @param {Page} page @param {string} what */
async function sound(page, what) {
  assert.deepEqual(await violations(page), [], what);
  assert.equal(await overflow(page), 0, what);
}

test('a photo is outlined with a finger on a phone', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await caseOf(page, 'Edda Farrow');
  await page.goto(at + '/photo');
  await sound(page, 'the page of photos');
  await upload(page, at);
  await sound(page, 'the photo before anything is drawn');
  await page.locator('#stage').scrollIntoViewIfNeeded();
  // One finger draws.
  const cdp = await browser.context.newCDPSession(page);
  const touch = async (/** @type {string} */ type, /** @type {{x: number, y: number}[]} */ points) => cdp.send('Input.dispatchTouchEvent', { type: /** @type {any} */ (type), touchPoints: points });
  const loop = [];
  for (const [x, y] of rough(40)) loop.push(await spot(page, x, y));
  await touch('touchStart', [loop[0]]);
  for (const p of loop.slice(1)) await touch('touchMove', [p]);
  await touch('touchEnd', []);
  let d = await drawing(page);
  assert.equal(d.parts.length, 1);
  assert.ok(Math.abs(area(d.parts[0].edge) - Math.PI * 150 * 104) < 2500, String(area(d.parts[0].edge)));
  await page.screenshot({ path: join(out, 'outline-phone-drawn.png') });
  // The line is pulled to the edge of the red ellipse.
  await page.getByRole('button', { name: 'Pull the line to the edge' }).click();
  await page.getByText('The line was pulled to the edge').waitFor();
  d = await drawing(page);
  const true1 = Math.PI * 120 * 80;
  assert.ok(Math.abs(area(d.parts[0].edge) - true1) < 0.05 * true1, area(d.parts[0].edge) + ' of ' + true1);
  // Undo takes the rough line back, and redo the pulled one.
  await page.getByRole('button', { name: 'Undo' }).click();
  assert.ok(area((await drawing(page)).parts[0].edge) > 1.3 * true1);
  await page.getByRole('button', { name: 'Redo' }).click();
  assert.deepEqual(await drawing(page), d);
  // Two taps on the ruler, and a depth.
  await page.getByRole('button', { name: 'Ruler', exact: true }).click();
  for (const [x, y] of [[200, 65], [600, 65]]) {
    const p = await spot(page, x, y);
    await page.touchscreen.tap(p.x, p.y);
  }
  await page.getByRole('button', { name: 'Depth', exact: true }).click();
  const deep = await spot(page, 400, 320);
  await page.touchscreen.tap(deep.x, deep.y);
  await page.getByLabel('Depth 1, in cm').fill('1,2');
  await page.getByText('Limb, depth, print scale, ruler, large wounds').click();
  await page.getByLabel('The two points on the ruler are apart').fill('10');
  await sound(page, 'with everything drawn');
  // Two fingers zoom; the drawing stays.
  await page.locator('#stage').scrollIntoViewIfNeeded();
  const before = await page.locator('#stage img').boundingBox();
  const mid = await spot(page, 400, 320);
  await touch('touchStart', [{ x: mid.x - 30, y: mid.y }, { x: mid.x + 30, y: mid.y }]);
  await touch('touchMove', [{ x: mid.x - 60, y: mid.y }, { x: mid.x + 60, y: mid.y }]);
  await touch('touchEnd', []);
  const wide = await page.locator('#stage img').boundingBox();
  assert.ok(before && wide && wide.width > 1.5 * before.width);
  assert.deepEqual((await drawing(page)).parts, d.parts);
  await page.getByRole('button', { name: 'Whole photo' }).click();
  await page.getByRole('button', { name: 'Work out the sizes' }).click();
  await page.getByRole('heading', { name: 'Sizes, not confirmed yet' }).waitFor();
  // 40 pixels are a centimetre.
  const words = await page.locator('#outline-result').innerText();
  const cm2 = Number((words.match(/([\d.]+) cm², four times in five/) ?? [])[1]);
  assert.ok(Math.abs(cm2 - true1 / 1600) < 0.05 * (true1 / 1600), words);
  assert.match(words, /tilt/);
  await sound(page, 'with sizes');
  await page.screenshot({ path: join(out, 'outline-phone-sizes.png'), fullPage: true });
  await follow(page, () => page.getByRole('button', { name: 'Confirm and write into the log' }).click());
  await page.waitForURL(/saved=1/);
  assert.match(await page.locator('#confirmed').innerText(), /Outline of wound A confirmed/);
  await sound(page, 'confirmed');
  assert.deepEqual(await page.evaluate(() => Object.keys(localStorage)), [], 'a confirmed drawing is forgotten');
  await page.screenshot({ path: join(out, 'outline-phone-confirmed.png'), fullPage: true });
  assert.deepEqual(browser.outside, []);
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});

test('an outline is drawn, changed and confirmed with keys alone', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await upload(page, await caseOf(page, 'Magnus Eklund'));
  const key = async (/** @type {string} */ k, times = 1) => { for (let i = 0; i < times; i++) await page.keyboard.press(k); };
  // Tab reaches the drawing area.
  for (let i = 0; i < 40 && !await page.evaluate(() => document.activeElement?.id === 'stage'); i++) await key('Tab');
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'stage');
  await key('Shift+ArrowLeft', 4);
  await key('Shift+ArrowUp', 3);
  await key('Enter');
  await key('Shift+ArrowRight', 8);
  await key('Enter');
  await key('Shift+ArrowDown', 6);
  await key('Enter');
  await key('Shift+ArrowLeft', 8);
  await key('Enter');
  await key('c');
  let d = await drawing(page);
  assert.equal(d.parts[0].edge.length, 4);
  // Step to the second point and nudge it.
  await key('.');
  const was = (await drawing(page)).parts[0].edge[1];
  await key('ArrowRight', 5);
  const is = (await drawing(page)).parts[0].edge[1];
  assert.ok(is[0] > was[0] && is[1] === was[1], was + ' to ' + is);
  await key('i');
  assert.equal((await drawing(page)).parts[0].edge.length, 5);
  await key('Delete');
  assert.equal((await drawing(page)).parts[0].edge.length, 4);
  await key('Control+z', 3);
  assert.deepEqual((await drawing(page)).parts[0].edge[1], was);
  await key('Control+y');
  assert.deepEqual((await drawing(page)).parts[0].edge[1], is);
  assert.match(await page.locator('#outline-said').innerText(), /\S/);
  // The ruler by keys: its tool is a button before the photo.
  await page.getByRole('button', { name: 'Ruler', exact: true }).focus();
  await key('Enter');
  await page.locator('#stage').focus();
  await key('Enter');
  await key('Shift+ArrowLeft', 6);
  await key('Enter');
  d = await drawing(page);
  assert.equal(d.ruler.length, 2);
  await page.locator('#outline-scale summary').focus();
  await key('Enter');
  await page.getByLabel('The two points on the ruler are apart').focus();
  await page.keyboard.type('3');
  await page.getByRole('button', { name: 'Work out the sizes' }).focus();
  await key('Enter');
  await page.getByRole('heading', { name: 'Sizes, not confirmed yet' }).waitFor();
  await page.screenshot({ path: join(out, 'outline-laptop.png'), fullPage: true });
  await sound(page, 'laptop with sizes');
  await page.getByRole('button', { name: 'Confirm and write into the log' }).focus();
  await key('Enter');
  await page.waitForURL(/saved=1/);
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});

test('a reload keeps the drawing, and leaving takes it off this computer', async () => {
  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  await upload(page, await caseOf(page, 'Osric Pell'));
  // A mouse draws, moves a point, and cuts an island out.
  const drag = async (/** @type {number[][]} */ line) => {
    const points = [];
    for (const [x, y] of line) points.push(await spot(page, x, y));
    await page.mouse.move(points[0].x, points[0].y);
    await page.mouse.down();
    for (const p of points.slice(1)) await page.mouse.move(p.x, p.y);
    await page.mouse.up();
  };
  await page.locator('#stage').scrollIntoViewIfNeeded();
  await drag(rough(50));
  await page.getByRole('button', { name: 'Island', exact: true }).click();
  await drag([[380, 300], [430, 300], [430, 340], [380, 340]]);
  let d = await drawing(page);
  assert.equal(d.parts[0].islands.length, 1);
  const p = d.parts[0].edge[0];
  await drag([p, [p[0] + 20, p[1] + 10]]);
  d = await drawing(page);
  assert.ok(Math.hypot(d.parts[0].edge[0][0] - p[0] - 20, d.parts[0].edge[0][1] - p[1] - 10) < 3, 'the point was moved');
  // A second wound apart from the first.
  await page.getByRole('button', { name: 'Draw', exact: true }).click();
  await drag([[60, 400], [140, 400], [140, 480], [60, 480]]);
  d = await drawing(page);
  assert.equal(d.parts.length, 2);
  await page.reload();
  await page.getByText('A drawing that was not confirmed yet is back').waitFor();
  assert.deepEqual(await drawing(page), d);
  const kept = await page.evaluate(() => JSON.stringify(localStorage));
  assert.ok(!kept.includes('data:') && !kept.includes('Osric') && kept.length < 20_000, 'points only');
  await page.screenshot({ path: join(out, 'outline-laptop-two.png') });
  await follow(page, () => menu(page, 'Leave'));
  await page.waitForFunction(() => Object.keys(localStorage).length === 0);
  assert.deepEqual(browser.complaints.filter((c) => !c.includes('401')), []);
  await browser.stop();
});

test('without script a photo is kept and seen, and its sizes can be typed', async () => {
  const browser = await Browser.start(phone, { script: false });
  const page = await browser.enter(demo);
  const at = await caseOf(page, 'Osric Pell');
  await page.goto(at + '/photo');
  await page.locator('input[type=file]').setInputFiles(join(out, 'painted.jpg'));
  await follow(page, () => page.getByRole('button', { name: 'Keep the photo' }).click());
  await page.waitForURL(/\/outline\//);
  assert.ok(await page.locator('#stage img').isVisible());
  assert.ok(await page.getByText('Drawing needs the page').isVisible());
  await follow(page, () => page.getByRole('link', { name: 'Type the sizes instead' }).first().click());
  await page.waitForURL(/add\/wound\.measured/);
  await browser.stop();
});

test('a file that is no photo is answered at its field, and what was typed stays', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  await page.goto(await caseOf(page, 'Edda Farrow') + '/photo');
  const file = join(out, 'not-a-photo.jpg');
  writeFileSync(file, 'hello');
  await page.locator('input[type=file]').setInputFiles(file);
  await page.locator('textarea').first().fill('typed with care');
  await page.getByRole('button', { name: 'Keep the photo' }).click();
  await page.getByRole('heading', { name: /Nothing was saved yet/ }).waitFor();
  assert.equal(await page.locator('textarea').first().inputValue(), 'typed with care');
  await sound(page, 'a refused file');
  await browser.stop();
});

/** Draws with keys roughly around the middle, where the wound of the demo's photos is. @param {Page} page @param {number} share of the photo's width, each way */
async function drawMiddle(page, share = 0.14) {
  await page.locator('#stage').focus();
  const half = await page.evaluate((s) => Math.round((document.getElementById('stage')?.clientWidth ?? 0) * s / 24), share);
  const go = async (/** @type {string} */ k, /** @type {number} */ n) => { for (let i = 0; i < n; i++) await page.keyboard.press('Shift+Arrow' + k); };
  await go('Left', half);
  await go('Up', half);
  await page.keyboard.press('Enter');
  for (const way of ['Right', 'Down', 'Left']) {
    await go(way, 2 * half);
    await page.keyboard.press('Enter');
  }
  await page.keyboard.press('c');
}

for (const [name, size] of /** @type {const} */ ([['phone', phone], ['laptop', laptop]])) {
  test(`a photo with strips is measured from the strips, and two dates are compared, on a ${name}`, async () => {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const at = await caseOf(page, 'Casimir Nowak');
    await page.goto(at + '/photo');
    await follow(page, () => page.locator('#photos').getByRole('link').first().click());
    await page.waitForURL(/\/outline\//);
    await drawMiddle(page);
    await page.getByRole('button', { name: 'Pull the line to the edge' }).click();
    await page.getByText('The line was pulled to the edge').waitFor();
    await page.getByRole('button', { name: 'Work out the sizes' }).click();
    await page.getByRole('heading', { name: 'Sizes, not confirmed yet' }).waitFor();
    const words = await page.locator('#outline-result').innerText();
    assert.match(words, /two strips/);
    assert.match(words, /granulation|slough|eschar/);
    // The painted wound has a radius of 1.75 cm: 9.6 cm².
    const cm2 = Number((words.match(/([\d.]+) cm², four times in five/) ?? [])[1]);
    assert.ok(Math.abs(cm2 - 9.6) < 0.7, words);
    await sound(page, 'sizes from strips');
    await page.screenshot({ path: join(out, `outline-strips-${name}.png`), fullPage: true });
    await page.goto(await caseOf(page, 'Wilfred Oakshott') + '/wound/A/edge');
    assert.match(await page.locator('main').innerText(), /stood still at/);
    await sound(page, 'two dates');
    await page.screenshot({ path: join(out, `outline-edge-${name}.png`), fullPage: true });
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });
}

test('one strip gives a size only when it is said that no other was laid', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await caseOf(page, 'Casimir Nowak');
  await page.goto(at + '/photo');
  await follow(page, () => page.locator('#photos').getByRole('link').first().click());
  // The demo's photo with skin painted over the strip below the wound, and as if seen from twice as far: one strip needs it.
  const data = await page.evaluate(async () => {
    const img = /** @type {HTMLImageElement} */ (document.querySelector('#stage img'));
    await img.decode();
    const c = document.createElement('canvas');
    const [w, h] = [img.naturalWidth, img.naturalHeight];
    c.width = 2 * w;
    c.height = 2 * h;
    const g = /** @type {CanvasRenderingContext2D} */ (c.getContext('2d'));
    g.drawImage(img, w / 2, h / 2);
    const [red, green, blue] = g.getImageData(w / 2 + 20, h / 2 + 590, 1, 1).data;
    g.globalCompositeOperation = 'destination-over';
    g.fillStyle = `rgb(${red},${green},${blue})`;
    g.fillRect(0, 0, 2 * w, 2 * h);
    g.globalCompositeOperation = 'source-over';
    g.fillRect(0, h / 2 + 590, 2 * w, h);
    return c.toDataURL('image/jpeg', 0.92);
  });
  const file = join(out, 'one-strip.jpg');
  writeFileSync(file, Buffer.from(data.split(',')[1], 'base64'));
  await page.goto(at + '/photo');
  await page.locator('input[type=file]').setInputFiles(file);
  await follow(page, () => page.getByRole('button', { name: 'Keep the photo' }).click());
  await page.waitForURL(/\/outline\//);
  await drawMiddle(page, 0.07);
  await page.getByRole('button', { name: 'Work out the sizes' }).click();
  await page.getByText('The second strip was not seen').last().waitFor();
  await sound(page, 'one strip, nothing said');
  await page.screenshot({ path: join(out, 'outline-one-strip-refused.png'), fullPage: true });
  // The refusal has opened the place where it is said, and leads to it.
  await page.getByRole('link', { name: 'Only one strip was laid' }).click();
  await page.getByRole('checkbox', { name: 'Only one strip was laid' }).check();
  await page.getByRole('button', { name: 'Work out the sizes' }).click();
  await page.getByText('One strip cannot tell whether the skin under it slopes').waitFor();
  await sound(page, 'one strip, said to be the only one');
  await page.screenshot({ path: join(out, 'outline-one-strip.png'), fullPage: true });
  await follow(page, () => page.getByRole('button', { name: 'Confirm and write into the log' }).click());
  await page.waitForURL(/saved=1/);
  assert.match(await page.locator('#confirmed').innerText(), /the only one that was laid/);
  assert.deepEqual(browser.complaints.filter((c) => !c.includes('422')), []);
  await browser.stop();
});

test('a large wound on two photos is added, with head to toe, a limb and a volume by a named model', async () => {
  const browser = await Browser.start(phone);
  const page = await browser.enter(demo);
  const at = await caseOf(page, 'Magnus Eklund');
  const scale = page.getByText('Limb, depth, print scale, ruler, large wounds');
  const part = async () => {
    await page.locator('#stage').scrollIntoViewIfNeeded();
    for (const [tool, places] of /** @type {[string, number[][]][]} */ ([['Draw', [[280, 240], [520, 240], [520, 400], [280, 400]]], ['Ruler', [[200, 65], [600, 65]]]])) {
      await page.getByRole('button', { name: tool, exact: true }).click();
      for (const [x, y] of places) {
        const p = await spot(page, x, y);
        await page.touchscreen.tap(p.x, p.y);
      }
      if (tool === 'Draw') await page.getByRole('button', { name: 'Close the line' }).click();
    }
    await scale.click();
    await page.getByLabel('The two points on the ruler are apart').fill('10');
  };
  const confirm = async () => {
    await page.getByRole('button', { name: 'Work out the sizes' }).click();
    await page.getByRole('heading', { name: 'Sizes, not confirmed yet' }).waitFor();
  };
  await upload(page, at);
  await part();
  await page.getByLabel('Greatest depth, when no place is marked').fill('1.5');
  await page.getByLabel('Around the limb, at the wound').fill('40');
  await confirm();
  const words = await page.locator('#outline-result').innerText();
  // 240 by 160 pixels at 40 in a centimetre: 6 by 4 cm, 24 cm². The head is at the photo's top.
  for (const want of [/24(\.\d+)? cm², four times in five/, /Length, head to toe\s+4(\.0)? cm/, /Width, side to side\s+6(\.0)? cm/, /Roundness\s+0\.75/, /Centre of the area\s+400 pixels from the left/, /Around a limb of 40 cm/, /limb 40 cm around/]) assert.match(words, want);
  // 24 cm² and 1.5 cm deep: straight walls 36 cm³, a cone 12 cm³.
  assert.match(words, /36(\.0)? cm³/);
  assert.match(words, /12(\.0)? cm³: .*cone, area × depth × 0\.33/);
  await page.getByRole('radio', { name: /12(\.0)? cm³/ }).check();
  await sound(page, 'the first part');
  await page.screenshot({ path: join(out, 'outline-part-sizes.png'), fullPage: true });
  await follow(page, () => page.getByRole('button', { name: 'Confirm and write into the log' }).click());
  await page.waitForURL(/saved=1/);
  assert.match(await page.locator('#confirmed').innerText(), /12(\.0)? cm³/);
  await upload(page, at);
  await part();
  const parts = page.getByLabel('Another part of a large wound');
  // Another test may have outlined the same patient today: the part of 24 cm² is meant.
  await parts.selectOption((await parts.locator('option', { hasText: /, 24(\.\d+)? cm²/ }).first().getAttribute('value')) ?? '');
  await confirm();
  await page.screenshot({ path: join(out, 'outline-part-two.png'), fullPage: true });
  await follow(page, () => page.getByRole('button', { name: 'Confirm and write into the log' }).click());
  await page.waitForURL(/saved=1/);
  await page.goto(at + '/wound/A');
  // Both parts count as one size: 48 cm².
  await page.getByText('The numbers as a table').click();
  const cells = await page.getByRole('cell').allInnerTexts();
  assert.ok(cells.some((c) => /^48(\.\d+)?( cm²)?( ±.*)?$/.test(c.trim())), cells.join(' | '));
  await sound(page, 'the wound with both parts');
  await page.screenshot({ path: join(out, 'outline-part-wound.png'), fullPage: true });
  assert.deepEqual(browser.complaints, []);
  await browser.stop();
});
