// What is drawn on a photo of a wound, and every change to it. No page and no server here: points in, points out.
// @ts-check

/** @typedef {[number, number]} Point pixels from the top left of the upright photo */
/** @typedef {{wound: string, edge: Point[], islands: Point[][], se?: number, pulled?: Point[]}} Part one closed line with its islands; se and pulled as it was pulled to the edge: how open that edge is, and the line */
/** @typedef {{x: number, y: number, cm: string}} Depth */
/** @typedef {{parts: Part[], ruler: Point[], marks: Point[], depths: Depth[]}} Drawing marks are places of the skin that do not move */
/** @typedef {{part: number, island: number, point: number}} Place a point; island is -1 on the edge itself */

const kept = 100;
const most = 400;

/** @returns {Drawing} */
export function empty() {
  return { parts: [], ruler: [], marks: [], depths: [] };
}

/** Reads a drawing from outside; null when it is none. @param {unknown} value @returns {Drawing | null} */
export function read(value) {
  const v = /** @type {any} */ (value);
  const line = (/** @type {any} */ l) => Array.isArray(l) && l.every((p) => Array.isArray(p) && p.length === 2 && p.every(Number.isFinite));
  if (!v || !Array.isArray(v.parts) || !line(v.ruler) || (v.marks !== undefined && !line(v.marks)) || !Array.isArray(v.depths)) return null;
  if (!v.parts.every((/** @type {any} */ p) => p && typeof p.wound === 'string' && line(p.edge) && Array.isArray(p.islands) && p.islands.every(line) && (p.se === undefined || Number.isFinite(p.se)) && (p.pulled === undefined || line(p.pulled)))) return null;
  if (!v.depths.every((/** @type {any} */ d) => d && Number.isFinite(d.x) && Number.isFinite(d.y) && typeof d.cm === 'string')) return null;
  return structuredClone({ parts: v.parts.map((/** @type {any} */ p) => ({ wound: p.wound, edge: p.edge, islands: p.islands, ...(p.pulled ? { se: p.se ?? 0, pulled: p.pulled } : {}) })), ruler: v.ruler, marks: v.marks ?? [], depths: v.depths.map((/** @type {any} */ d) => ({ x: d.x, y: d.y, cm: d.cm })) });
}

/** The line that a place lies on. @param {Drawing} d @param {{part: number, island: number}} at @returns {Point[]} */
export function lineAt(d, at) {
  const part = d.parts[at.part];
  return at.island < 0 ? part.edge : part.islands[at.island];
}

/** Every closed line with its place. @param {Drawing} d @returns {{part: number, island: number, line: Point[]}[]} */
export function lines(d) {
  return d.parts.flatMap((p, part) => [{ part, island: -1, line: p.edge }, ...p.islands.map((line, island) => ({ part, island, line }))]);
}

/** Every point in the order in which keys step through them. @param {Drawing} d @returns {Place[]} */
export function places(d) {
  return lines(d).flatMap((l) => l.line.map((_, point) => ({ part: l.part, island: l.island, point })));
}

/** @param {Place | null} a @param {Place | null} b */
export function same(a, b) {
  return a !== null && b !== null && a.part === b.part && a.island === b.island && a.point === b.point;
}

/** @param {Point} a @param {Point} b */
export function distance(a, b) {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** The point of a closed line nearest to a place, within reach; null when there is none. @param {Drawing} d @param {Point} at @param {number} reach @returns {Place | null} */
export function nearest(d, at, reach) {
  let best = null;
  for (const p of places(d)) {
    const far = distance(lineAt(d, p)[p.point], at);
    if (far <= reach) {
      reach = far;
      best = p;
    }
  }
  return best;
}

/** Area inside a closed line, in square pixels. @param {Point[]} line */
export function area(line) {
  let twice = 0;
  line.forEach((p, i) => {
    const q = line[(i + 1) % line.length];
    twice += p[0] * q[1] - q[0] * p[1];
  });
  return Math.abs(twice) / 2;
}

/** @param {Point[]} line @param {Point} at */
export function inside(line, at) {
  let odd = false;
  line.forEach((p, i) => {
    const q = line[(i + 1) % line.length];
    if (p[1] > at[1] !== q[1] > at[1] && at[0] < ((q[0] - p[0]) * (at[1] - p[1])) / (q[1] - p[1]) + p[0]) odd = !odd;
  });
  return odd;
}

/** How far p lies from the stretch a b. @param {Point} p @param {Point} a @param {Point} b */
function off(p, a, b) {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const len = dx * dx + dy * dy;
  const t = len === 0 ? 0 : Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / len));
  return distance(p, [a[0] + t * dx, a[1] + t * dy]);
}

/**
 * An open line with fewer points, none of the left-out ones farther than tolerance from it (Ramer, Douglas and Peucker).
 * @param {Point[]} line @param {number} tolerance @returns {Point[]}
 */
function thinOpen(line, tolerance) {
  if (line.length < 3) return line;
  let far = -1;
  let at = 0;
  for (let i = 1; i < line.length - 1; i++) {
    const d = off(line[i], line[0], line[line.length - 1]);
    if (d > far) {
      far = d;
      at = i;
    }
  }
  if (far <= tolerance) return [line[0], line[line.length - 1]];
  return [...thinOpen(line.slice(0, at + 1), tolerance).slice(0, -1), ...thinOpen(line.slice(at), tolerance)];
}

/**
 * A closed line with as few points as the tolerance allows, so that each can be moved by hand.
 * @param {Point[]} line @param {number} tolerance @returns {Point[]}
 */
export function thin(line, tolerance) {
  if (line.length < 5) return line;
  // The line is cut at two points far from each other, so that neither half is without length.
  let from = 0;
  for (let i = 1; i < line.length; i++) if (distance(line[i], line[0]) > distance(line[from], line[0])) from = i;
  const turned = [...line.slice(from), ...line.slice(0, from)];
  let to = 0;
  for (let i = 1; i < turned.length; i++) if (distance(turned[i], turned[0]) > distance(turned[to], turned[0])) to = i;
  for (;;) {
    const out = [...thinOpen(turned.slice(0, to + 1), tolerance).slice(0, -1), ...thinOpen([...turned.slice(to), turned[0]], tolerance).slice(0, -1)];
    if (out.length <= most) return out.length < 3 ? line : out;
    tolerance *= 1.5;
  }
}

/** A drawing with everything that was done to it, so that it can be undone. */
export class History {
  /** @param {Drawing} start */
  constructor(start) {
    /** @type {Drawing} */
    this.now = start;
    /** @type {Drawing[]} */
    this.before = [];
    /** @type {Drawing[]} */
    this.after = [];
  }

  /** Changes the drawing; what it was can be had back. @param {(d: Drawing) => void} change */
  change(change) {
    this.mark();
    change(this.now);
  }

  /** Notes the drawing as it is, before a change that comes in many small steps. */
  mark() {
    this.before.push(structuredClone(this.now));
    if (this.before.length > kept) this.before.shift();
    this.after = [];
  }

  undo() {
    return this.turn(this.before, this.after);
  }

  redo() {
    return this.turn(this.after, this.before);
  }

  /** @param {Drawing[]} from @param {Drawing[]} to */
  turn(from, to) {
    const d = from.pop();
    if (!d) return false;
    to.push(structuredClone(this.now));
    this.now = d;
    return true;
  }
}

/**
 * Puts a closed line into the drawing: an island goes into the part around it. It returns the line's place, or null when
 * an island lies in no part.
 * @param {Drawing} d @param {Point[]} line @param {boolean} island @param {string} wound @returns {Place | null}
 */
export function add(d, line, island, wound) {
  if (!island) {
    d.parts.push({ wound, edge: line, islands: [] });
    return { part: d.parts.length - 1, island: -1, point: 0 };
  }
  const part = d.parts.findIndex((p) => line.filter((q) => inside(p.edge, q)).length * 2 > line.length);
  if (part < 0) return null;
  d.parts[part].islands.push(line);
  return { part, island: d.parts[part].islands.length - 1, point: 0 };
}

/** Takes a point out; a line with fewer than three goes as a whole. @param {Drawing} d @param {Place} at @returns {Place | null} the point that follows */
export function remove(d, at) {
  const line = lineAt(d, at);
  if (line.length > 3) {
    line.splice(at.point, 1);
    return { ...at, point: at.point % line.length };
  }
  removeLine(d, at);
  return null;
}

/** Takes a whole line out, an edge with its islands. @param {Drawing} d @param {{part: number, island: number}} at */
export function removeLine(d, at) {
  if (at.island < 0) d.parts.splice(at.part, 1);
  else d.parts[at.part].islands.splice(at.island, 1);
}

/** Puts a point half way to the next one. @param {Drawing} d @param {Place} at @returns {Place} */
export function insertAfter(d, at) {
  const line = lineAt(d, at);
  const a = line[at.point];
  const b = line[(at.point + 1) % line.length];
  line.splice(at.point + 1, 0, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
  return { ...at, point: at.point + 1 };
}

/** The stretch of a line nearest to a place, within reach: a point put there belongs after the returned one. @param {Drawing} d @param {Point} at @param {number} reach @returns {Place | null} */
export function stretch(d, at, reach) {
  let best = null;
  for (const l of lines(d)) {
    l.line.forEach((p, point) => {
      const far = off(at, p, l.line[(point + 1) % l.line.length]);
      if (far <= reach) {
        reach = far;
        best = { part: l.part, island: l.island, point };
      }
    });
  }
  return best;
}

/** Rounds to a tenth of a pixel and keeps the point on the photo. @param {Point} p @param {number} width @param {number} height @returns {Point} */
export function onPhoto(p, width, height) {
  const keep = (/** @type {number} */ v, /** @type {number} */ end) => Math.round(Math.max(0, Math.min(end, v)) * 10) / 10;
  return [keep(p[0], width), keep(p[1], height)];
}
