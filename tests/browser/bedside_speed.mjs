// How long a phone takes without a network, with the 24 patients of the demo: `make bedside-speed` prints it. The browser
// slows pages down only, not workers, so that the figures are of this machine; a phone at a quarter of its speed takes four
// times as long for what the worker does.
// @ts-check
import { Browser, Demo, phone } from './lowtide.mjs';
import { Line, keep } from './bedside.mjs';

const demo = await Demo.start();
const line = await Line.to(demo.origin);
const browser = await Browser.start(phone);
const page = await browser.enter(demo);
/** @type {[string, number][]} */
const rows = [];
/** @param {string} what @param {() => Promise<unknown>} act */
const time = async (what, act) => {
  const began = performance.now();
  await act();
  rows.push([what, performance.now() - began]);
};
try {
  page.setDefaultTimeout(120_000);
  const link = new URL(await demo.link());
  await page.goto(line.origin + link.pathname + link.search);
  await time('set up: the program and 24 cases with their photos', () => keep(page, line.origin));
  await page.goto(line.origin + '/');
  // As on the way to the first patient: meanwhile the phone works Rounds out and keeps it.
  await page.waitForTimeout(40_000);
  line.off();
  const cdp = await browser.context.newCDPSession(page);
  await cdp.send('ServiceWorker.enable');
  const rounds = () => page.locator('a.aboard:not([id])').waitFor();
  for (const run of ['first', 'second', 'third']) {
    await cdp.send('ServiceWorker.stopAllWorkers');
    await page.goto('about:blank');
    const began = performance.now();
    await page.goto(line.origin + '/');
    rows.push([run + ': Rounds painted, as it was kept', await page.evaluate(() => new Promise((done) => {
      const look = () => { const [p] = performance.getEntriesByName('first-contentful-paint'); if (p) done(p.startTime); else setTimeout(look, 10); };
      look();
    }))]);
    await rounds();
    rows.push([run + ': Rounds worked out by the program', performance.now() - began]);
    const href = await page.locator('main a[href^="/case/"]').first().getAttribute('href');
    const at = line.origin + (href ?? '').split(/[?#]/)[0].split('/').slice(0, 3).join('/');
    await time(run + ': a case', () => page.goto(at));
    await time(run + ': its visit', () => page.goto(at + '/visit'));
    await time(run + ': Rounds again', () => page.goto(line.origin + '/'));
  }
  const memory = await page.evaluate(async () => performance.memory?.usedJSHeapSize);
  for (const [what, ms] of rows) console.log(what.padEnd(60) + ms.toFixed(0).padStart(7) + ' ms');
  console.log('heap of the page ' + ((memory ?? 0) / 1e6).toFixed(0) + ' MB');
} finally {
  await browser.stop();
  line.stop();
  await demo.stop();
}
