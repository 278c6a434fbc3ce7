// The store in a browser's own storage passes the suite of every store, in a real browser.
// @ts-check
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { createServer } from 'node:http';
import { readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { Browser, laptop, out } from './lowtide.mjs';

const source = join(out, '../../..');

test('the store of a phone passes the suite of every store', { timeout: 600_000 }, async () => {
  const wasm = join(out, 'store.test.wasm');
  const env = { ...process.env, GOOS: 'js', GOARCH: 'wasm', CGO_ENABLED: '0' };
  execFileSync('go', ['test', '-c', '-o', wasm, './casebook/browser'], { cwd: source, env, stdio: 'inherit' });
  const loader = readFileSync(join(execFileSync('go', ['env', 'GOROOT'], { encoding: 'utf8' }).trim(), 'lib/wasm/wasm_exec.js'));
  const files = /** @type {Record<string, [string, Buffer | string]>} */ ({
    '/': ['text/html', '<!DOCTYPE html><title>store</title><script src="/loader.js"></script>'],
    '/loader.js': ['text/javascript', loader],
    '/test.wasm': ['application/wasm', readFileSync(wasm)],
  });
  const server = createServer((request, answer) => {
    const [type, body] = files[request.url ?? ''] ?? ['text/plain', ''];
    answer.writeHead(200, { 'Content-Type': type }).end(body);
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', () => done(undefined)));
  const browser = await Browser.start(laptop);
  try {
    const page = await browser.context.newPage();
    /** @type {string[]} */
    const said = [];
    page.on('console', (m) => said.push(m.text()));
    await page.goto('http://127.0.0.1:' + /** @type {import('node:net').AddressInfo} */ (server.address()).port + '/');
    const code = await page.evaluate(async () => {
      // @ts-ignore the loader's class
      const go = new Go();
      let code = -1;
      go.argv = ['store.test', '-test.v', '-test.timeout=9m', '-rapid.checks=30'];
      go.exit = (/** @type {number} */ c) => { code = c; };
      const { instance } = await WebAssembly.instantiateStreaming(fetch('/test.wasm'), go.importObject);
      await go.run(instance);
      return code;
    });
      const passed = said.join('\n').split('--- PASS').length - 1;
    assert.equal(code, 0, said.filter((l) => !l.includes('=== ')).join('\n'));
    assert.ok(passed > 20, 'only ' + passed + ' tests passed: ' + said.join('\n'));
  } finally {
    await browser.stop();
    server.close();
    rmSync(wasm);
  }
});
