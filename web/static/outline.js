// Drawing the edge of a wound on its photo: with a finger, a mouse or keys alone. What is drawn stays on this computer, as
// points without the photo, until it is confirmed or somebody leaves. Without this script the page still shows the photo.
// @ts-check
import { History, add, area, distance, empty, insertAfter, lineAt, lines, nearest, onPhoto, places, read, remove, removeLine, same, stretch, thin } from './outline_shape.js';
import { Stage } from './outline_stage.js';
import { listParts } from './outline_list.js';

/** @typedef {import('./outline_shape.js').Point} Point */
/** @typedef {import('./outline_shape.js').Place} Place */

const form = document.querySelector('form[data-outline]');
const box = document.getElementById('stage');
if (form instanceof HTMLFormElement && box) start(form, box);

/** @param {HTMLFormElement} form @param {HTMLElement} box */
function start(form, box) {
  const photo = /** @type {HTMLImageElement} */ (box.querySelector('img'));
  const svg = /** @type {SVGSVGElement} */ (box.querySelector('svg'));
  const said = /** @type {HTMLElement} */ (document.getElementById('outline-said'));
  const list = /** @type {HTMLElement} */ (document.getElementById('outline-parts'));
  const result = /** @type {HTMLElement} */ (document.getElementById('outline-result'));
  const field = /** @type {HTMLInputElement} */ (form.elements.namedItem('drawing'));
  const width = Number(form.dataset.width);
  const height = Number(form.dataset.height);
  const key = form.dataset.outline ?? '';
  const wounds = (form.dataset.wounds ?? '').split('\n').filter((w) => w !== '');
  const store = keeper(key, form.dataset.saved === 'true');
  const typed = field.value !== '' ? read(JSON.parse(field.value)) : null;
  const found = typed ?? store.load();
  const history = new History(found ?? empty());
  let tool = found && found.parts.length > 0 ? 'move' : 'draw';
  /** @type {Point[]} */
  let open = [];
  /** @type {Place | null} */
  let selected = null;
  /** @type {Point} */
  let cross = [width / 2, height / 2];
  let byKeys = false;
  let held = false;
  let fresh = false; // the result in sight is of the drawing in sight

  const drawing = () => history.now;
  const say = (/** @type {string} */ words) => { said.textContent = words; };
  const crossed = () => tool === 'draw' || tool === 'island' || tool === 'ruler' || tool === 'depth' || tool === 'mark';
  const draw = () => stage.draw({ drawing: drawing(), open, selected, cursor: byKeys && crossed() ? cross : null });

  /** After every change: what is kept, shown and sent is the same. */
  function changed() {
    if (selected && !places(drawing()).some((p) => same(p, selected))) selected = null;
    const text = JSON.stringify(drawing());
    field.value = text;
    store.save(text);
    listParts(list, drawing(), wounds, edit, (f) => { history.change(f); changed(); });
    if (fresh && result.childElementCount > 0) {
      fresh = false;
      result.replaceChildren();
      const p = document.createElement('p');
      p.textContent = 'The drawing has changed. Work out the sizes again.';
      result.append(p);
    }
    buttons();
    draw();
  }

  /** @param {(d: import('./outline_shape.js').Drawing) => void} f */
  function edit(f) {
    history.now && f(history.now);
    const text = JSON.stringify(drawing());
    field.value = text;
    store.save(text);
  }

  function buttons() {
    for (const b of document.querySelectorAll('[data-tool]')) b.setAttribute('aria-pressed', String(b.getAttribute('data-tool') === tool));
    const off = (/** @type {string} */ name, /** @type {boolean} */ v) => {
      const b = document.querySelector('[data-do="' + name + '"]');
      if (b instanceof HTMLButtonElement) b.disabled = v;
    };
    off('undo', history.before.length === 0 && open.length === 0);
    off('redo', history.after.length === 0);
    off('close', open.length < 3);
    const any = places(drawing()).length > 0;
    off('next', !any);
    off('previous', !any);
    off('insert', selected === null);
    off('remove', selected === null);
    off('edge', !any);
    off('measure', !any);
  }

  /** @param {string} name */
  function use(name) {
    if (open.length > 0 && name !== tool) open = [];
    tool = name;
    selected = name === 'move' ? selected : null;
    say({ draw: 'Draw around the wound.', island: 'Draw around an island of healed skin inside an outline.', move: 'Move points, or the photo.', ruler: 'Mark two points on the ruler.', depth: 'Mark the place where a depth was probed.', mark: 'Mark two places of the skin that do not move, a mole or the end of a scar, in the same order on every photo.' }[name] ?? '');
    buttons();
    draw();
  }

  /** Ends the line that is being drawn. */
  function close() {
    let line = open.map((p) => onPhoto(p, width, height));
    line = thin(line, 1.2 / stage.scale);
    open = [];
    if (line.length < 3 || area(line) * stage.scale * stage.scale < 60) {
      say('That line is too small. Draw all the way around.');
      draw();
      return;
    }
    const island = tool === 'island';
    history.mark();
    const at = add(drawing(), line, island, wounds[0] ?? '');
    if (!at) {
      history.before.pop();
      say('An island lies inside an outline. Draw the outline first.');
      draw();
      return;
    }
    tool = 'move';
    selected = at;
    say((island ? 'Island cut out: ' : 'Outline closed: ') + line.length + ' points.');
    changed();
  }

  /** Puts one point of the tool in hand. @param {Point} p */
  function put(p) {
    p = onPhoto(p, width, height);
    if (tool === 'ruler') {
      history.change((d) => { d.ruler = d.ruler.length >= 2 ? [p] : [...d.ruler, p]; });
      say(drawing().ruler.length === 2 ? 'Two points on the ruler. Write how far apart they are.' : 'One point on the ruler; mark the second.');
      changed();
    } else if (tool === 'depth') {
      history.change((d) => { d.depths.push({ x: p[0], y: p[1], cm: '' }); });
      say('Depth ' + drawing().depths.length + ' marked. Write the depth in the list.');
      changed();
      if (!byKeys) return;
      const last = list.querySelectorAll('input');
      last[last.length - 1]?.focus();
    } else if (tool === 'mark') {
      if (drawing().marks.length >= 8) return;
      history.change((d) => { d.marks.push(p); });
      say('Skin mark ' + 'abcdefgh'[drawing().marks.length - 1] + ' is set.');
      changed();
    } else if (tool === 'draw' || tool === 'island') {
      if (open.length >= 3 && distance(open[0], p) * stage.scale < 14) {
        close();
        return;
      }
      open.push(p);
      say('Point ' + open.length + (open.length >= 3 ? '. Close the line when it is around the wound.' : '.'));
      buttons();
      draw();
    }
  }

  /** @param {Place | null} at */
  function choose(at) {
    selected = at;
    if (at) {
      const line = lineAt(drawing(), at);
      stage.reveal(line[at.point]);
      say((at.island < 0 ? 'Outline ' + (at.part + 1) : 'Island ' + (at.island + 1) + ' of outline ' + (at.part + 1)) + ', point ' + (at.point + 1) + ' of ' + line.length + '.');
    }
    buttons();
    draw();
  }

  /** @param {number} by */
  function step(by) {
    const all = places(drawing());
    if (all.length === 0) return;
    if (tool !== 'move') use('move');
    const i = all.findIndex((p) => same(p, selected));
    choose(all[(i < 0 ? (by > 0 ? 0 : all.length - 1) : i + by + all.length) % all.length]);
  }

  /** @type {Place | null} */
  let grip = null;
  let gripRuler = -1;
  /** @type {import('./outline_stage.js').Hand} */
  const hand = {
    down(p, reach) {
      byKeys = false;
      if (tool === 'draw' || tool === 'island') {
        held = true;
        return true;
      }
      if (tool === 'move') {
        grip = nearest(drawing(), p, reach);
        if (grip) {
          history.mark();
          choose(grip);
          return true;
        }
      }
      gripRuler = tool === 'ruler' || tool === 'move' ? drawing().ruler.findIndex((q) => distance(p, q) <= reach) : -1;
      if (gripRuler >= 0) history.mark();
      return gripRuler >= 0;
    },
    move(p) {
      p = onPhoto(p, width, height);
      if (held) {
        const last = open[open.length - 1];
        if (!last || distance(last, p) * stage.scale > 2) open.push(p);
      } else if (grip) {
        lineAt(drawing(), grip)[grip.point] = p;
      } else if (gripRuler >= 0) {
        drawing().ruler[gripRuler] = p;
      }
      draw();
    },
    up(p, moved) {
      if (held) {
        held = false;
        if (moved) close();
        else put(p);
        return;
      }
      if (grip || gripRuler >= 0) {
        grip = null;
        gripRuler = -1;
        if (moved) changed();
        else history.before.pop();
        buttons();
        return;
      }
      if (moved) return;
      if (tool === 'move') {
        // A tap on a line adds a point there.
        const at = stretch(drawing(), p, 14 / stage.scale);
        if (at) {
          history.mark();
          selected = insertAfter(drawing(), at);
          lineAt(drawing(), selected)[selected.point] = onPhoto(p, width, height);
          changed();
          choose(selected);
        } else {
          choose(null);
        }
      } else {
        put(p);
      }
    },
    cancel() {
      if (held) open = [];
      if (grip || gripRuler >= 0) history.undo();
      held = false;
      grip = null;
      gripRuler = -1;
      draw();
    },
  };
  const stage = new Stage(box, photo, svg, width, height, hand, () => draw());

  /** @type {Record<string, () => void>} */
  const does = {
    undo() {
      if (open.length > 0) {
        open.pop();
        say('Point taken back.');
        buttons();
        draw();
      } else if (history.undo()) {
        say('Undone.');
        changed();
      }
    },
    redo() {
      if (history.redo()) {
        say('Done again.');
        changed();
      }
    },
    close() { if (open.length >= 3) close(); },
    next() { step(1); },
    previous() { step(-1); },
    insert() {
      if (!selected) return;
      history.mark();
      const at = insertAfter(drawing(), selected);
      changed();
      choose(at);
    },
    remove() {
      if (!selected) return;
      history.mark();
      const at = remove(drawing(), selected);
      selected = at;
      changed();
      if (at) choose(at);
      else say('The line had three points and is gone.');
    },
    closer() { stage.zoomMiddle(1.5); },
    farther() { stage.zoomMiddle(1 / 1.5); },
    whole() { stage.fit(); },
    edge() { pull(); },
    measure() { measure(); },
    again() {
      history.change((d) => { Object.assign(d, empty()); });
      open = [];
      use('draw');
      changed();
      say('Everything is taken off the photo. Undo brings it back.');
    },
  };

  document.addEventListener('click', (event) => {
    const b = event.target instanceof Element ? event.target.closest('button[data-tool], button[data-do]') : null;
    if (!(b instanceof HTMLButtonElement)) return;
    if (b.dataset.tool) use(b.dataset.tool);
    else does[b.dataset.do ?? '']?.();
  });

  box.addEventListener('keydown', (event) => {
    const k = event.key;
    const control = event.ctrlKey || event.metaKey;
    /** @type {Record<string, [number, number]>} */
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[k];
    let used = true;
    byKeys = true;
    if (control && k.toLowerCase() === 'z') does[event.shiftKey ? 'redo' : 'undo']();
    else if (control && k.toLowerCase() === 'y') does.redo();
    else if (control || event.altKey) used = false;
    else if (way) nudge(way, event.shiftKey ? 24 : 3);
    else if (k === '+' || k === '=') does.closer();
    else if (k === '-') does.farther();
    else if (k === '0') does.whole();
    else if (k === 'Escape' && open.length > 0) {
      open = [];
      say('The unfinished line is gone.');
      buttons();
      draw();
    } else if (k === 'Enter' || k === ' ') {
      if (tool === 'move') choose(selected ?? nearest(drawing(), stage.middle(), Infinity));
      else put(cross);
    } else if (k === 'c') does.close();
    else if (k === 'PageDown' || k === '.') does.next();
    else if (k === 'PageUp' || k === ',') does.previous();
    else if (k === 'Insert' || k === 'i') does.insert();
    else if (k === 'Delete' || k === 'Backspace') {
      if (open.length > 0) does.undo();
      else does.remove();
    } else used = false;
    if (used) event.preventDefault();
  });
  box.addEventListener('focus', () => { if (crossed()) draw(); });

  let nudged = -Infinity; // the first step is always marked, also right after the page was opened
  /** @param {[number, number]} way @param {number} by pixels of the screen */
  function nudge(way, by) {
    const move = (/** @type {Point} */ p) => onPhoto([p[0] + (way[0] * by) / stage.scale, p[1] + (way[1] * by) / stage.scale], width, height);
    if (crossed()) {
      cross = move(cross);
      stage.reveal(cross);
      draw();
      return;
    }
    if (!selected) {
      step(1);
      return;
    }
    // Steps in quick succession are undone together.
    if (performance.now() - nudged > 800) history.mark();
    nudged = performance.now();
    const line = lineAt(drawing(), selected);
    line[selected.point] = move(line[selected.point]);
    changed();
    stage.reveal(line[selected.point]);
  }

  /** Asks the server to pull every edge to where the wound ends. */
  async function pull() {
    const parts = drawing().parts.length;
    say('Pulling the line to the edge …');
    let done = 0;
    const next = structuredClone(drawing());
    const words = [];
    for (const part of next.parts) {
      try {
        const answer = await fetch(form.dataset.edge ?? '', { method: 'POST', credentials: 'same-origin', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ line: part.edge }) });
        const got = await answer.json();
        if (answer.ok && Array.isArray(got.edge) && got.edge.length >= 3) {
          part.edge = thin(got.edge, Math.max(0.7, 0.8 / stage.scale));
          // The line as it was pulled and how open that edge is: what the nurse does not move keeps that doubt.
          part.se = Number(got.se) || 0;
          part.pulled = structuredClone(part.edge);
          // Islands that the nurse cut out herself stay; those that were found come beside them.
          if (part.islands.length === 0) part.islands = (got.islands ?? []).map((/** @type {Point[]} */ l) => thin(l, 0.8));
          done++;
        }
        if (got.words) words.push(got.words);
      } catch {
        words.push('The server did not answer. The line is as you drew it.');
      }
    }
    if (done > 0) {
      history.change((d) => { Object.assign(d, next); });
      tool = 'move';
      selected = null;
      changed();
    }
    say((done === parts ? 'The line was pulled to the edge. Look at all of it, and move what is wrong.' : 'Not every line could be pulled.') + (words.length > 0 ? ' ' + [...new Set(words)].join(' ') : ''));
  }

  let asking = false;
  /** Asks the server for the sizes of what is drawn. */
  async function measure() {
    if (asking) return;
    asking = true;
    say('Working out the sizes …');
    const sent = field.value;
    const q = new URLSearchParams();
    for (const [name, value] of new FormData(/** @type {HTMLFormElement} */ (form))) if (name !== 'seen') q.append(name, String(value));
    try {
      const answer = await fetch(form.dataset.measure ?? '', { method: 'POST', credentials: 'same-origin', body: q });
      if (answer.ok || answer.status === 422) {
        result.innerHTML = await answer.text();
        // A refusal that a statement can answer shows where it is made.
        for (const a of result.querySelectorAll('[data-opens]')) document.getElementById(a.getAttribute('data-opens') ?? '')?.setAttribute('open', '');
        fresh = sent === field.value;
        say(result.querySelector('[data-said]')?.getAttribute('data-said') ?? '');
        result.scrollIntoView({ block: 'start', behavior: matchMedia('(prefers-reduced-motion: reduce)').matches ? 'auto' : 'smooth' });
        result.focus({ preventScroll: true });
      } else {
        say('The sizes could not be worked out. Reload the page; the drawing is kept.');
      }
    } catch {
      say('The server did not answer. The drawing is kept on this computer.');
    }
    asking = false;
  }

  // A number that the sizes rest on was typed: they are of other numbers now.
  form.addEventListener('input', (event) => {
    const el = event.target;
    if (!(el instanceof HTMLElement) || result.contains(el) || !el.closest('[data-scale]')) return;
    if (fresh) changed();
  });
  form.addEventListener('submit', () => { field.value = JSON.stringify(drawing()); });
  for (const el of document.querySelectorAll('[data-live]')) el.removeAttribute('hidden');
  for (const el of document.querySelectorAll('[data-plain]')) el.setAttribute('hidden', '');
  box.style.height = 'auto';
  box.style.aspectRatio = width + ' / ' + height;
  stage.fit();
  changed();
  use(tool);
  if (found && !typed) say('A drawing that was not confirmed yet is back on the photo.');
}

/**
 * Keeps the drawing in this browser until it is confirmed. @param {string} key @param {boolean} forget
 */
function keeper(key, forget) {
  const longest = 12 * 3600 * 1000;
  const prefix = 'lowtide-outline:';
  try {
    for (const name of Object.keys(localStorage)) {
      if (!name.startsWith(prefix)) continue;
      const at = Number(JSON.parse(localStorage.getItem(name) ?? '{}').at);
      if (!(Date.now() - at < longest)) localStorage.removeItem(name);
    }
    if (forget) localStorage.removeItem(prefix + key);
  } catch {
    // A browser that keeps nothing still draws.
  }
  return {
    load() {
      try {
        return read(JSON.parse(localStorage.getItem(prefix + key) ?? 'null')?.drawing);
      } catch {
        return null;
      }
    },
    /** @param {string} text */
    save(text) {
      try {
        const nothing = lines(JSON.parse(text)).length === 0 && text === JSON.stringify(empty());
        if (nothing) localStorage.removeItem(prefix + key);
        else localStorage.setItem(prefix + key, '{"at":' + Date.now() + ',"drawing":' + text + '}');
      } catch {
        // The same.
      }
    },
  };
}
