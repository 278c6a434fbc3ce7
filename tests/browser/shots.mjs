// Takes pictures of the demo: one for the README, the others for looking at.
// @ts-check
import { join } from 'node:path';
import { Browser, Demo, laptop, out, phone } from './lowtide.mjs';

const demo = await Demo.start(['--seed', '1']);
try {
  for (const [name, size] of /** @type {const} */ ([['laptop', laptop], ['phone', phone]])) {
    const browser = await Browser.start(size);
    const page = await browser.enter(demo);
    const shot = (/** @type {string} */ what, whole = true) => page.screenshot({ path: join(out, `${name}-${what}.png`), fullPage: whole });
    await shot('rounds', false);
    await shot('rounds-whole');
    if (name === 'laptop') await page.screenshot({ path: join(out, '../../../docs/rounds.png') });
    const href = await page.getByRole('link', { name: 'Osric Pell' }).first().getAttribute('href');
    const at = demo.origin + href;
    if (name === 'laptop') {
      await page.getByRole('link', { name: 'Henrietta Swann' }).first().click();
      await page.waitForURL(/\/case\//);
      await page.screenshot({ path: join(out, '../../../docs/case.png') });
    }
    await page.goto(at);
    await shot('case');
    for (const [what, path] of Object.entries({ log: '/log', visit: '/visit', add: '/add', screening: '/add/screening.done', order: '/add/order.written', account: '/add/pieces.accounted', sign: '/sign', bench: '/bench', wound: '/wound/A', decision: '/decision' })) {
      await page.goto(at + path);
      await shot(what);
    }
    await page.goto(demo.origin + '/rules');
    await shot('rules', false);
    await page.goto(demo.origin + '/rules/VIS-OFF-01');
    await shot('rule');
    await page.goto(demo.origin + '/about');
    await shot('about');
    await page.goto(demo.origin + '/case/new');
    await shot('new');
    await browser.stop();
  }
} finally {
  await demo.stop();
}
