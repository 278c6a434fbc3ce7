// The plan of a case says what it must and not its contrary; what is asked is settled with keys alone; hazards are found
// from About and from a rule; a note that names a drug is asked about it.
// @ts-check
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Browser, Demo, follow, laptop, out, overflow, phone, violations } from './lowtide.mjs';

/** @type {Demo} */
let demo;
before(async () => { demo = await Demo.start(); });
after(async () => { await demo.stop(); });

const sizes = /** @type {const} */ ([['phone', phone], ['laptop', laptop]]);

/** Opens a patient from Rounds. @param {import('playwright-core').Page} page @param {string} name */
async function open(page, name) {
  await page.goto(demo.origin + '/');
  await follow(page, () => page.getByRole('link', { name, exact: true }).first().click());
  await page.waitForURL(/\/case\//);
  return page.url();
}

/** Unfolds the page, and looks at it as axe-core and a ruler do. @param {import('playwright-core').Page} page @param {string} name */
async function look(page, name) {
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
  assert.deepEqual(await violations(page), [], page.url());
  assert.equal(await overflow(page), 0, page.url());
  if (process.env.SHOTS) await page.screenshot({ path: join(out, name + '.png'), fullPage: true });
}

/**
 * Moves focus with the Tab key until the element has it.
 * @param {import('playwright-core').Page} page @param {string} selector
 */
async function tabTo(page, selector) {
  for (let i = 0; i < 150; i++) {
    await page.keyboard.press('Tab');
    if (await page.evaluate((s) => document.activeElement?.matches(s) ?? false, selector)) return;
  }
  assert.fail('Tab does not reach ' + selector);
}

// Of each patient: what the first sentence says, what other steps say, and what no step may say beside them.
const restores = /restart|re-start|running again|(?:get|have|keep) (?:the )?suction running|switch (?:it|the pump|suction) (?:back )?on/i;
const plans = [
  { name: 'Bram Achterberg', level: 'Act now', first: [/^Leave the suction off until the prescriber has decided/, /leave the dressing on/i, /press on it/i, /call emergency help/i],
    waits: [/A new canister waits/], steps: [/^Call the prescriber or surgeon now about bleeding/m], never: [restores, /^Put a new canister in/m, /dressing taken off/] },
  { name: 'Halina Wroble', level: 'Act now', first: [/^Look at tube, canister and dressing now/], waits: [/Getting suction running waits/],
    steps: [/^Have the dressing taken off and every piece counted/m, /^Plug the pump in/m], never: [restores, /leave the dressing on(?!, press)/i, /^(?:Get|Have) suction running/m] },
  { name: 'Coralie Duquesne', level: 'Act now', first: [/^Leave the suction off until the prescriber has decided/, /leave the dressing on/i],
    waits: [], steps: [/^Put no new filler in/m, /^Call the prescriber or surgeon now about bowel content/m], never: [restores, /dressing taken off/, /^Put a new canister in/m] },
];

for (const [size, view] of sizes) {
  test(`the plan says what it must and not its contrary on a ${size}`, async () => {
    const browser = await Browser.start(view);
    const page = await browser.enter(demo);
    for (const p of plans) {
      await open(page, p.name);
      const first = page.locator('.decides').first();
      const [, level, said] = (await first.innerText()).match(/^(Act now|Today|Plan|Note)\s+(.*)/s) ?? [];
      assert.equal(level, p.level, p.name);
      for (const want of p.first) assert.match(said, want, p.name);
      await look(page, `plan-${size}-${p.name.split(' ')[0]}`);
      const all = await page.locator('main').innerText();
      for (const want of [...p.steps, ...p.waits]) assert.match(all, want, p.name);
      // What waits is named as waiting. Every sentence that asks for something is looked through, those in detail too;
      // what says not to do it is not what is looked for.
      const asks = [await first.locator('.say').innerText(), ...await first.locator('.then li').allInnerTexts(), ...await page.locator('.do').allInnerTexts()];
      await page.goto(page.url().split(/[?#]/)[0] + '?part=why');
      await look(page, `why-${size}-${p.name.split(' ')[0]}`);
      asks.push(...await page.locator('.do').allInnerTexts());
      assert.ok(asks.length >= 5, p.name + ': ' + asks.length + ' steps');
      const sentences = asks.map((x) => x.replace(/^In detail: /, '')).join('\n').split(/(?<=\.)\s+|\n/).filter((x) => !/\bnot\b|\bwaits?\b/i.test(x)).join('\n');
      for (const never of p.never) assert.doesNotMatch(sentences, never, p.name);
    }
    assert.deepEqual(browser.outside, []);
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });

  test(`hazards are found from About and from a rule on a ${size}`, async () => {
    const browser = await Browser.start(view);
    const page = await browser.enter(demo);
    await page.goto(demo.origin + '/about');
    await look(page, `about-${size}`);
    await follow(page, () => page.getByRole('link', { name: 'Hazards', exact: true }).click());
    await page.getByRole('heading', { name: 'Hazards', exact: true }).waitFor();
    await look(page, `hazards-${size}`);
    assert.ok(await page.locator('main article').count() >= 80);
    // Every rule named on the page opens, and every rule leads back to its hazard.
    const hazard = page.locator('main article').first();
    const id = await hazard.getAttribute('id');
    await follow(page, () => hazard.getByRole('link').first().click());
    await page.getByRole('heading', { name: 'What it stands against' }).waitFor();
    await look(page, `rule-${size}`);
    await page.locator(`main a[href="/hazards#${id}"]`).click();
    await page.waitForURL((u) => u.pathname === '/hazards' && u.hash === '#' + id);
    assert.ok(await page.locator('#' + id).isVisible());
    assert.deepEqual(browser.outside, []);
    assert.deepEqual(browser.complaints, []);
    await browser.stop();
  });

  test(`a note that names a drug against clotting is asked about it on a ${size}`, async () => {
    const browser = await Browser.start(view);
    const page = await browser.enter(demo);
    const at = await open(page, size === 'phone' ? 'Henrietta Swann' : 'Signe Haugland');
    const text = 'The family doctor started edoxaban on Friday.';
    await page.goto(at + '/add/note.written');
    assert.equal(await page.locator('[name="clot_drug"]').count(), 0, 'it is asked before a drug is named');
    await page.locator('[name="text"]').fill(text);
    await follow(page, () => page.getByRole('button', { name: 'Save' }).last().click());
    await page.getByText(/The note names a drug against clotting \(edoxaban\)/).first().waitFor();
    assert.equal(await page.locator('[name="text"]').inputValue(), text, 'what was typed is kept');
    assert.equal(await page.locator('[name="clot_drug"]:checked').getAttribute('value'), '', 'nothing is answered beforehand');
    await look(page, `drug-${size}`);
    await page.locator('[name="clot_drug"][value="new"]').check();
    await follow(page, () => page.getByRole('button', { name: 'Save' }).last().click());
    await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
    await look(page, `drug-after-${size}`);
    assert.match(await page.locator('main').innerText(), /names edoxaban/);
    assert.deepEqual(browser.outside, []);
    await browser.stop();
  });
}

test('what is asked is settled with keys alone', async () => {
  const small = await Browser.start(phone);
  const narrow = await small.enter(demo);
  await narrow.goto(await open(narrow, 'Henrietta Swann') + '/asked');
  await look(narrow, 'asked-phone');
  await small.stop();

  const browser = await Browser.start(laptop);
  const page = await browser.enter(demo);
  const at = await open(page, 'Henrietta Swann');
  await tabTo(page, 'a[href$="/asked"]');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL(/\/asked$/);
  await look(page, 'asked-laptop');
  const heading = await page.locator('.asked h2').first().innerText();
  assert.match(heading, /two sizes of one time: 7\.1 cm², 0\.6 cm deep, and 4\.9 cm², 0 cm deep/);
  assert.equal(await page.locator('[name="right"]:checked').count(), 0, 'nothing is answered beforehand');

  // Saved with nothing said: what is missing is named, and the page asks on.
  await tabTo(page, '.asked .save button');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.getByRole('alert').waitFor();
  const wrong = await page.getByRole('alert').innerText();
  assert.match(wrong, /It is not said which is right/);
  await look(page, 'asked-problems');

  // The first entry by the space bar, how it is known, and Enter.
  await tabTo(page, '[name="right"]');
  await page.keyboard.press('Space');
  assert.equal(await page.locator('[name="right"]:checked').getAttribute('value'), await page.locator('[name="right"]').first().getAttribute('value'));
  await tabTo(page, '[name="how"]');
  await page.keyboard.type('measured again together: 4.5 × 2 cm');
  await tabTo(page, '.asked .save button');
  await follow(page, () => page.keyboard.press('Enter'));
  await page.waitForURL((u) => u.href.split(/[?#]/)[0] === at);
  assert.doesNotMatch(await page.locator('main').innerText(), /entries that contradict each other/);
  await page.goto(at + '/asked');
  await page.getByText('Nothing is asked').waitFor();
  assert.deepEqual(browser.outside, []);
  await browser.stop();
});
