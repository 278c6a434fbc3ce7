// The photo with the lines over it: what is in sight, how large, and what finger and mouse do. It decides nothing about
// the drawing; it asks the hand, which does.
// @ts-check
import { distance } from './outline_shape.js';

/** @typedef {import('./outline_shape.js').Point} Point */
/** @typedef {import('./outline_shape.js').Drawing} Drawing */
/** @typedef {import('./outline_shape.js').Place} Place */

/**
 * What finger and mouse do. down says whether the hand takes hold; when it does not, the photo moves.
 * @typedef {{down: (p: Point, reach: number) => boolean, move: (p: Point) => void, up: (p: Point, moved: boolean) => void, cancel: () => void}} Hand
 */

/** @typedef {{drawing: Drawing, open: Point[], selected: Place | null, cursor: Point | null}} Scene */

const namespace = 'http://www.w3.org/2000/svg';
const slack = 6; // screen pixels that a finger may move within a tap
const touchReach = 24;
const mouseReach = 12;

export class Stage {
  /**
   * @param {HTMLElement} box @param {HTMLImageElement} photo @param {SVGSVGElement} svg
   * @param {number} width @param {number} height @param {Hand} hand @param {() => void} changed called when what is in sight has changed
   */
  constructor(box, photo, svg, width, height, hand, changed) {
    this.box = box;
    this.photo = photo;
    this.svg = svg;
    this.width = width;
    this.height = height;
    this.hand = hand;
    this.changed = changed;
    this.scale = 1;
    /** Where the photo's top left corner stands on the box. @type {Point} */
    this.corner = [0, 0];
    this.fitted = true;
    /** @type {Map<number, Point>} */
    this.fingers = new Map();
    /** @type {'' | 'hand' | 'pan' | 'pinch'} */
    this.doing = '';
    /** @type {Point} */
    this.start = [0, 0];
    this.moved = false;
    box.addEventListener('pointerdown', (e) => this.down(e));
    box.addEventListener('pointermove', (e) => this.move(e));
    for (const end of ['pointerup', 'pointercancel']) box.addEventListener(end, (e) => this.up(/** @type {PointerEvent} */ (e)));
    box.addEventListener('wheel', (e) => {
      if (!e.ctrlKey && document.activeElement !== box) return; // the page scrolls as ever until the photo is in hand
      e.preventDefault();
      this.zoom(Math.exp(-e.deltaY / 400), this.at(e));
    }, { passive: false });
    new ResizeObserver(() => this.resize()).observe(box);
  }

  /** Where an event is on the box. @param {PointerEvent | WheelEvent} e @returns {Point} */
  at(e) {
    const r = this.box.getBoundingClientRect();
    return [e.clientX - r.left - this.box.clientLeft, e.clientY - r.top - this.box.clientTop];
  }

  /** @param {Point} at on the box @returns {Point} on the photo */
  toPhoto(at) {
    return [(at[0] - this.corner[0]) / this.scale, (at[1] - this.corner[1]) / this.scale];
  }

  /** @param {Point} p on the photo @returns {Point} on the box */
  toBox(p) {
    return [p[0] * this.scale + this.corner[0], p[1] * this.scale + this.corner[1]];
  }

  /** The middle of what is in sight. @returns {Point} */
  middle() {
    return this.toPhoto([this.box.clientWidth / 2, this.box.clientHeight / 2]);
  }

  fitScale() {
    return Math.min(this.box.clientWidth / this.width, this.box.clientHeight / this.height) || 1;
  }

  /** Shows the whole photo. */
  fit() {
    this.scale = this.fitScale();
    this.corner = [(this.box.clientWidth - this.width * this.scale) / 2, (this.box.clientHeight - this.height * this.scale) / 2];
    this.fitted = true;
    this.place();
  }

  resize() {
    if (this.fitted) this.fit();
    else this.place();
  }

  /** @param {number} by @param {Point} around on the box, which stays where it is */
  zoom(by, around) {
    const least = this.fitScale();
    const next = Math.max(least, Math.min(Math.max(8, 4 * least), this.scale * by));
    const p = this.toPhoto(around);
    this.scale = next;
    this.corner = [around[0] - p[0] * next, around[1] - p[1] * next];
    this.fitted = next === least;
    if (this.fitted) this.fit();
    else this.place();
  }

  /** Zooms around the middle. @param {number} by */
  zoomMiddle(by) {
    this.zoom(by, [this.box.clientWidth / 2, this.box.clientHeight / 2]);
  }

  /** Brings a place of the photo into sight. @param {Point} p */
  reveal(p) {
    const at = this.toBox(p);
    const edge = 24;
    const shift = (/** @type {number} */ v, /** @type {number} */ end) => (v < edge ? edge - v : v > end - edge ? end - edge - v : 0);
    const dx = shift(at[0], this.box.clientWidth);
    const dy = shift(at[1], this.box.clientHeight);
    if (dx === 0 && dy === 0) return;
    this.corner = [this.corner[0] + dx, this.corner[1] + dy];
    this.place();
  }

  /** Puts the photo where scale and corner say, never wholly out of sight. */
  place() {
    const hold = (/** @type {number} */ v, /** @type {number} */ size, /** @type {number} */ room) => (size <= room ? (room - size) / 2 : Math.max(room - size, Math.min(0, v)));
    this.corner = [hold(this.corner[0], this.width * this.scale, this.box.clientWidth), hold(this.corner[1], this.height * this.scale, this.box.clientHeight)];
    const s = this.photo.style;
    s.width = this.width * this.scale + 'px';
    s.height = this.height * this.scale + 'px';
    s.transform = 'translate(' + this.corner[0] + 'px, ' + this.corner[1] + 'px)';
    this.changed();
  }

  /** @param {PointerEvent} e */
  down(e) {
    if (e.button !== 0) return;
    e.preventDefault();
    this.box.focus({ preventScroll: true });
    this.box.setPointerCapture(e.pointerId);
    const at = this.at(e);
    this.fingers.set(e.pointerId, at);
    if (this.fingers.size === 2) {
      if (this.doing === 'hand') this.hand.cancel();
      this.doing = 'pinch';
      this.moved = true; // the finger that stays puts nothing down
    } else if (this.fingers.size === 1) {
      this.start = at;
      this.moved = false;
      this.doing = this.hand.down(this.toPhoto(at), (e.pointerType === 'touch' ? touchReach : mouseReach) / this.scale) ? 'hand' : 'pan';
    }
  }

  /** @param {PointerEvent} e */
  move(e) {
    const was = this.fingers.get(e.pointerId);
    if (!was) return;
    const at = this.at(e);
    if (this.doing === 'pinch') {
      const other = [...this.fingers].find(([id]) => id !== e.pointerId)?.[1];
      if (other) {
        const before = distance(was, other);
        const after = distance(at, other);
        this.corner = [this.corner[0] + (at[0] - was[0]) / 2, this.corner[1] + (at[1] - was[1]) / 2];
        if (before > 0) this.zoom(after / before, [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2]);
      }
      this.fingers.set(e.pointerId, at);
      return;
    }
    this.fingers.set(e.pointerId, at);
    if (!this.moved && distance(at, this.start) <= slack) return;
    this.moved = true;
    if (this.doing === 'hand') {
      this.hand.move(this.toPhoto(at));
    } else if (this.doing === 'pan') {
      this.corner = [this.corner[0] + at[0] - was[0], this.corner[1] + at[1] - was[1]];
      this.fitted = false;
      this.place();
    }
  }

  /** @param {PointerEvent} e */
  up(e) {
    if (!this.fingers.delete(e.pointerId)) return;
    if (this.doing === 'hand') {
      if (e.type === 'pointercancel') this.hand.cancel();
      else this.hand.up(this.toPhoto(this.at(e)), this.moved);
    } else if (this.doing === 'pan' && !this.moved && e.type === 'pointerup') {
      this.hand.up(this.toPhoto(this.at(e)), false);
    }
    if (this.fingers.size === 0) this.doing = '';
    else if (this.doing === 'pinch') this.doing = 'pan';
  }

  /** Draws the scene in the pixels of the screen, so that lines and points keep their size. @param {Scene} scene */
  draw(scene) {
    const { drawing, open, selected, cursor } = scene;
    const out = document.createDocumentFragment();
    const path = (/** @type {Point[]} */ line, /** @type {boolean} */ closed) => line.map((p, i) => (i === 0 ? 'M' : 'L') + this.toBox(p).map((v) => v.toFixed(1)).join(' ')).join('') + (closed ? 'Z' : '');
    const put = (/** @type {string} */ tag, /** @type {string} */ name, /** @type {Record<string, string | number>} */ attributes, text = '') => {
      const el = document.createElementNS(namespace, tag);
      el.setAttribute('class', name);
      for (const [k, v] of Object.entries(attributes)) el.setAttribute(k, String(v));
      if (text !== '') el.textContent = text;
      out.append(el);
    };
    const line = (/** @type {Point[]} */ points, /** @type {boolean} */ closed, /** @type {string} */ name) => {
      put('path', 'under', { d: path(points, closed) });
      put('path', name, { d: path(points, closed) });
    };
    const dot = (/** @type {Point} */ p, /** @type {string} */ name, /** @type {number} */ r) => {
      const [cx, cy] = this.toBox(p);
      put('circle', name, { cx: cx.toFixed(1), cy: cy.toFixed(1), r });
    };
    drawing.parts.forEach((part, i) => {
      line(part.edge, true, 'edge');
      for (const island of part.islands) line(island, true, 'island');
      [part.edge, ...part.islands].forEach((points, k) => points.forEach((p, j) => {
        const chosen = selected !== null && selected.part === i && selected.island === k - 1 && selected.point === j;
        dot(p, chosen ? 'point chosen' : 'point', chosen ? 7 : 3.5);
      }));
      if (drawing.parts.length > 1) this.label(put, part.edge, part.wound + ' ' + (i + 1));
    });
    if (open.length > 0) {
      line(open, false, 'edge open');
      dot(open[0], 'point chosen', 6);
    }
    if (drawing.ruler.length > 0) line(drawing.ruler, false, 'ruler');
    for (const p of drawing.ruler) dot(p, 'point', 5);
    drawing.marks.forEach((p, i) => {
      const [x, y] = this.toBox(p);
      put('rect', 'mark', { x: (x - 8).toFixed(1), y: (y - 8).toFixed(1), width: 16, height: 16 });
      put('text', 'depth-name', { x: x.toFixed(1), y: (y + 4.5).toFixed(1) }, 'abcdefgh'[i] ?? '');
    });
    drawing.depths.forEach((d, i) => {
      dot([d.x, d.y], 'depth', 9);
      const [x, y] = this.toBox([d.x, d.y]);
      put('text', 'depth-name', { x: x.toFixed(1), y: (y + 4).toFixed(1) }, String(i + 1));
    });
    if (cursor) {
      const [x, y] = this.toBox(cursor);
      for (const name of ['under', 'cross']) put('path', name, { d: `M${x - 14} ${y}H${x + 14}M${x} ${y - 14}V${y + 14}` });
    }
    this.svg.replaceChildren(out);
  }

  /** @param {(tag: string, name: string, attributes: Record<string, string | number>, text?: string) => void} put @param {Point[]} line @param {string} words */
  label(put, line, words) {
    const top = line.reduce((a, b) => (b[1] < a[1] ? b : a));
    const [x, y] = this.toBox(top);
    put('text', 'part-name under-text', { x: x.toFixed(1), y: (y - 8).toFixed(1) }, words);
    put('text', 'part-name', { x: x.toFixed(1), y: (y - 8).toFixed(1) }, words);
  }
}
