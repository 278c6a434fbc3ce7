// Starts the demo and a browser for the tests, and looks over every page that a test visits.
// @ts-check
import { spawn } from 'node:child_process';
import { after } from 'node:test';
import { mkdtempSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const here = dirname(fileURLToPath(import.meta.url));
const axe = readFileSync(join(here, 'node_modules/axe-core/axe.min.js'), 'utf8');
export const out = join(here, 'out');
mkdirSync(out, { recursive: true });

export const phone = { width: 390, height: 844 };
export const laptop = { width: 1280, height: 800 };

const quiet = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'];

/**
 * The morning that the demo tells, so that every run sees the same one; LOWTIDE_AT sets another.
 */
const morning = process.env.LOWTIDE_AT ?? '2026-03-10T09:20:00Z';

/** The demo, running. links yields one-time links as the program prints them. */
export class Demo {
  /** @param {string[]} args */
  static async start(args = []) {
    const bin = process.env.LOWTIDE ?? join(here, 'out/lowtide');
    const child = spawn(bin, ['demo', '--listen', '127.0.0.1:0', '--at', morning, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
    const demo = new Demo(child);
    await demo.link();
    return demo;
  }

  /** @param {import('node:child_process').ChildProcessByStdio<null, import('node:stream').Readable, import('node:stream').Readable>} child */
  constructor(child) {
    this.child = child;
    this.text = '';
    this.errors = '';
    this.began = Date.now();
    child.stdout.on('data', (d) => { this.text += d; });
    child.stderr.on('data', (d) => { this.errors += d; });
  }

  /** The newest link that the program printed. */
  async link() {
    for (let i = 0; i < 1200; i++) {
      const all = [...this.text.matchAll(/http:\/\/\S+\/open\?key=\S+/g)];
      if (all.length > 0) return all[all.length - 1][0];
      if (this.child.exitCode !== null) throw new Error('the demo ended: ' + this.errors);
      await new Promise((r) => setTimeout(r, 50));
    }
    throw new Error('the demo printed no link: ' + this.text + this.errors);
  }

  get origin() {
    const m = this.text.match(/http:\/\/[^/\s]+/);
    if (!m) throw new Error('no address');
    return m[0];
  }

  /** The demo's own time, in milliseconds since 1970 as Date takes them; at most a start-up ahead of the program's. */
  now() { return Date.parse(morning) + Date.now() - this.began; }

  async stop() {
    if (this.child.exitCode !== null) return;
    const ended = new Promise((r) => this.child.once('exit', r));
    this.child.kill('SIGTERM');
    await ended;
  }
}

/** @type {Set<Browser>} */
const open = new Set();

// A test that failed leaves its browser open, and the file would never end.
if (process.env.NODE_TEST_CONTEXT) after(async () => { for (const b of [...open]) await b.stop(); });

/** A browser with a fresh profile. outside collects every request that would leave this machine. */
export class Browser {
  /** profile is a folder of an earlier browser. @param {{width: number, height: number}} size @param {{script?: boolean, profile?: string}} options */
  static async start(size, options = {}) {
    const profile = options.profile ?? mkdtempSync(join(tmpdir(), 'lowtide-browser-'));
    const context = await chromium.launchPersistentContext(profile, {
      executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: quiet, viewport: size,
      hasTouch: size.width < 600, isMobile: size.width < 600, javaScriptEnabled: options.script ?? true, locale: 'en-GB',
    });
    const browser = new Browser(context, profile);
    open.add(browser);
    return browser;
  }

  /** @param {import('playwright-core').BrowserContext} context @param {string} profile */
  constructor(context, profile) {
    this.context = context;
    this.profile = profile;
    /** @type {string[]} */
    this.outside = [];
    /** @type {string[]} */
    this.complaints = [];
    context.on('request', (r) => {
      const host = new URL(r.url()).hostname;
      if (host !== '127.0.0.1' && host !== '') this.outside.push(r.url());
    });
  }

  /** A page that has come in through the demo's link. @param {Demo} demo */
  async enter(demo) {
    const page = this.context.pages()[0] ?? await this.context.newPage();
    // A limit only for what never comes: a machine that tests on two cores may be slow.
    page.setDefaultTimeout(60_000);
    page.on('pageerror', (e) => this.complaints.push('script: ' + e.message));
    page.on('console', (m) => { if (m.type() === 'error') this.complaints.push('console: ' + m.text()); });
    await page.goto(await demo.link());
    return page;
  }

  /** Closes the browser; its profile stays for another one. */
  async close() {
    open.delete(this);
    await this.context.close();
  }

  async stop() {
    await this.close();
    rmSync(this.profile, { recursive: true, force: true });
  }
}

/**
 * Does what leads to another page, and waits until that page is there. Without it a test reads the old page, or its
 * next step stops the form on its way.
 * @param {import('playwright-core').Page} page @param {() => Promise<unknown>} act
 */
export async function follow(page, act) {
  await Promise.all([page.waitForEvent('load'), act()]);
}

/**
 * Presses a button of the menu, which is folded on a phone.
 * @param {import('playwright-core').Page} page @param {string} name
 */
export async function menu(page, name) {
  const more = page.locator('.far > summary');
  const button = page.getByRole('button', { name, exact: true });
  if (await more.isVisible() && !await button.isVisible()) await more.click();
  await button.click();
}

/**
 * What axe-core finds wrong with the page, one line each; empty is good.
 * @param {import('playwright-core').Page} page
 */
export async function violations(page) {
  // evaluate runs in the page's own world; the content policy does not apply to it.
  await page.evaluate(axe);
  const result = await page.evaluate(async () => {
    // @ts-ignore axe was just added
    const r = await window.axe.run(document, { resultTypes: ['violations'] });
    return r.violations.map((/** @type {any} */ v) => v.id + ': ' + v.help + ' at ' + v.nodes.map((/** @type {any} */ n) => n.target.join(' ')).join(', '));
  });
  return /** @type {string[]} */ (result);
}

/**
 * How far the page is wider than the screen, in pixels.
 * @param {import('playwright-core').Page} page
 */
export async function overflow(page) {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}
