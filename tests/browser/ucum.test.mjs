// Units against an independent package: every UCUM code that a FHIR Bundle carries and every code of package unit is
// valid, and the factors of package unit agree with its conversions to five digits.
import { test } from 'node:test';
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import ucum from '@lhncbc/ucum-lhc';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const utils = ucum.UcumLhcUtils.getInstance();

/** @param {string} code */
const valid = code => utils.validateUnitString(code).status === 'valid';

test('the package refuses what is no unit', () => {
  for (const bad of ['mmHg', 'cm^2', 'hours', 'o clock']) assert.ok(!valid(bad), bad);
});

test('every code of a Bundle is valid', () => {
  const bundle = JSON.parse(execFileSync(process.env.LOWTIDE ?? '', ['fhir', 'write', join(root, 'intake/testdata/good/every-kind.json')], { encoding: 'utf8', maxBuffer: 1 << 26 }));
  /** @type {Set<string>} */
  const codes = new Set();
  let missing = 0;
  const walk = (/** @type {any} */ v) => {
    if (Array.isArray(v)) return v.forEach(walk);
    if (v === null || typeof v !== 'object') return;
    if (v.system === 'http://unitsofmeasure.org') {
      codes.add(v.code);
      if (!v.code) missing++;
    }
    Object.values(v).forEach(walk);
  };
  walk(bundle);
  assert.equal(missing, 0);
  assert.ok(codes.size >= 8, [...codes].join(' '));
  for (const code of codes) assert.ok(valid(code), `${code} is no UCUM code`);
});

test('the factors of package unit are those of the package', () => {
  const table = readFileSync(join(root, 'unit/code.go'), 'utf8');
  const base = { pressure: 'mm[Hg]', volume: 'mL', length: 'cm', area: 'cm2', flow: 'mL/d', time: 'h', mass: 'g', share: '%' };
  const constants = { PaPerMmHg: 133.322387415, PaPerCmH2O: 98.0665 };
  let compared = 0;
  for (const m of table.matchAll(/\{Print: "([^"]+)", UCUM: "([^"]+)", Dim: Dim(\w+), Factor: ([^,}]+)/g)) {
    const [, printed, code, dimension, factor] = m;
    assert.ok(valid(code), `${printed}: ${code} is no UCUM code`);
    const to = base[/** @type {keyof typeof base} */ (dimension.toLowerCase())];
    if (!to) continue; // temperatures have an offset, counts and clock positions no other unit
    const ours = Function(...Object.keys(constants), `return ${factor}`)(...Object.values(constants));
    const theirs = utils.convertUnitTo(code, 1, to);
    // a calendar year is 365.25 days here and in UCUM
    assert.equal(theirs.status, 'succeeded', `${code} to ${to}: ${theirs.msg}`);
    assert.ok(Math.abs(ours / theirs.toVal - 1) < 1e-5, `${printed}: ${ours}, the package says ${theirs.toVal}`);
    compared++;
  }
  assert.ok(compared >= 20, `${compared} compared`);
});
