// A phone with a list, and the line between it and the server, for the tests of work without a network.
// @ts-check
import { createServer, connect } from 'node:net';

export const phrase = 'green boats under quiet bridges';

/** The line between the phone and the server: it can be cut, and cut after a request came through. */
export class Line {
  /** @param {string} origin of the server */
  static async to(origin) {
    const l = new Line();
    l.port = Number(new URL(origin).port);
    l.server = createServer((near) => {
      if (l.cut) { near.destroy(); return; }
      const far = connect(l.port, '127.0.0.1');
      const end = () => { near.destroy(); far.destroy(); l.pairs.delete(end); };
      l.pairs.add(end);
      near.on('data', (d) => {
        far.write(d);
        // The server has the whole form, and its answer does not come back.
        if (l.cutAfterPost && d.toString('latin1').startsWith('POST /case/')) { l.cutAfterPost = false; l.deaf = true; setTimeout(() => { l.cut = true; end(); }, 300); }
      });
      far.on('data', (d) => { if (!l.deaf) near.write(d); });
      for (const s of [near, far]) { s.on('error', end); s.on('close', end); }
    });
    await new Promise((done) => l.server?.listen(0, '127.0.0.1', () => done(undefined)));
    return l;
  }

  port = 0;
  cut = false;
  deaf = false;
  cutAfterPost = false;
  /** @type {Set<() => void>} */
  pairs = new Set();
  /** @type {import('node:net').Server | null} */
  server = null;

  get origin() { return 'http://localhost:' + /** @type {import('node:net').AddressInfo} */ (this.server?.address()).port; }

  off() { this.cut = true; for (const end of [...this.pairs]) end(); }

  on() { this.cut = false; this.deaf = false; }

  stop() { this.off(); this.server?.close(); }
}

/** Keeps the list on the phone. @param {import('playwright-core').Page} page @param {string} origin @param {string} [words] */
export async function keep(page, origin, words = phrase) {
  await page.goto(origin + '/phone');
  await page.locator('#begin-phrase').fill(words);
  await page.locator('#begin-again').fill(words);
  await page.locator('[data-do=begin] button').click();
  await page.locator('[data-do=lock]').waitFor();
}
