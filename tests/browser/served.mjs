// A server over a store of its own, for tests of what holds between one start and the next.
// @ts-check
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { follow, out } from './lowtide.mjs';

export const password = 'three blue herons at dawn';

/** A sealed store of its own, served. */
export class Served {
  /** Starts the server over a folder, a new one if none is given, at a free port if none is given. @param {string} [dir] @param {string} [port] */
  static async start(dir = mkdtempSync(join(tmpdir(), 'lowtide-locks-')), port = '0') {
    const child = spawn(process.env.LOWTIDE ?? join(out, 'lowtide'), ['serve', '--listen', '127.0.0.1:' + port, '--store', join(dir, 'ward.db')], { stdio: ['ignore', 'pipe', 'pipe'] });
    const s = new Served(child, dir);
    for (let i = 0; i < 1200 && !s.text.includes('Stop with') && child.exitCode === null; i++) await new Promise((r) => setTimeout(r, 50));
    return s;
  }

  /** @param {import('node:child_process').ChildProcessByStdio<null, import('node:stream').Readable, import('node:stream').Readable>} child @param {string} dir */
  constructor(child, dir) {
    this.child = child;
    this.dir = dir;
    this.text = '';
    this.errors = '';
    child.stdout.on('data', (d) => { this.text += d; });
    child.stderr.on('data', (d) => { this.errors += d; });
  }

  get setUp() {
    const m = this.text.match(/http:\/\/localhost:\d+\/set-up\?key=\S+/);
    assert.ok(m, 'no link for the set-up: ' + this.text + this.errors);
    return m[0];
  }

  get origin() {
    const m = this.text.match(/http:\/\/localhost:\d+/);
    assert.ok(m, 'no address: ' + this.text + this.errors);
    return m[0];
  }

  /**
   * Makes the first account and a first case, whose address it returns.
   * @param {import('playwright-core').Page} page
   */
  async begin(page) {
    await page.goto(this.setUp);
    await page.getByLabel('Your name').fill('Mara Holt');
    await page.getByLabel('Sign-in name').fill('m.holt');
    await page.getByLabel('Your teams').fill('East');
    await page.getByLabel('Password').fill(password);
    await follow(page, () => page.getByRole('button', { name: 'Make the account' }).click());
    await page.goto(this.origin + '/case/new');
    await page.getByLabel('Name', { exact: false }).first().fill('Ann Eastham');
    await page.locator('[name="person/place"][value="ward"]').check();
    await page.locator('[name="person/team"]').fill('East');
    await page.locator('[name="wound/site"]').fill('left heel');
    await page.locator('[name="wound/type"]').first().evaluate((el) => { if (el instanceof HTMLSelectElement) el.value = 'pressure'; else { const box = document.querySelector('[name="wound/type"][value="pressure"]'); if (box instanceof HTMLInputElement) box.checked = true; } });
    await follow(page, () => page.locator('.save button').click());
    await page.waitForURL(/\/case\/[0-9a-f-]{36}\?saved=/);
    return new URL(page.url()).pathname;
  }

  /** Ends the server; its folder stays. @param {NodeJS.Signals} signal */
  async end(signal) {
    if (this.child.exitCode !== null || this.child.signalCode !== null) return;
    const ended = new Promise((r) => this.child.once('exit', r));
    this.child.kill(signal);
    await ended;
  }

  async stop() {
    await this.end('SIGTERM');
    rmSync(this.dir, { recursive: true, force: true });
  }
}
