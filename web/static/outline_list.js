// The list below the photo: every outline, island and depth with what belongs to it, for those who do not see the lines
// and for what a finger cannot do.
// @ts-check
import { removeLine } from './outline_shape.js';

/** @typedef {import('./outline_shape.js').Drawing} Drawing */

/**
 * @param {HTMLElement} list @param {Drawing} drawing @param {string[]} wounds
 * @param {(f: (d: Drawing) => void) => void} edit keeps a typed value without drawing the list again
 * @param {(f: (d: Drawing) => void) => void} change changes lines, so that it can be undone
 */
export function listParts(list, drawing, wounds, edit, change) {
  const focus = document.activeElement instanceof HTMLElement && list.contains(document.activeElement) ? document.activeElement.id : '';
  const out = document.createDocumentFragment();
  const row = (/** @type {string} */ words) => {
    const li = document.createElement('li');
    const span = document.createElement('span');
    span.textContent = words;
    li.append(span);
    out.append(li);
    return li;
  };
  const button = (/** @type {HTMLElement} */ to, /** @type {string} */ id, /** @type {string} */ words, /** @type {() => void} */ f) => {
    const b = document.createElement('button');
    b.type = 'button';
    b.className = 'quiet';
    b.id = id;
    b.textContent = words;
    b.addEventListener('click', f);
    to.append(b);
  };
  drawing.parts.forEach((part, i) => {
    const name = 'Outline ' + (i + 1);
    const li = row(name + ': ' + part.edge.length + ' points');
    if (wounds.length > 1) {
      const label = document.createElement('label');
      label.append('of wound ');
      const select = document.createElement('select');
      select.id = 'part-' + i + '-wound';
      select.setAttribute('aria-label', name + ' is of wound');
      for (const w of wounds) select.append(new Option(w, w, false, w === part.wound));
      select.addEventListener('change', () => change((d) => { d.parts[i].wound = select.value; }));
      label.append(select);
      li.append(label);
    }
    button(li, 'part-' + i + '-off', 'Take off ' + name.toLowerCase(), () => change((d) => removeLine(d, { part: i, island: -1 })));
    part.islands.forEach((island, k) => {
      const words = 'Island ' + (k + 1) + ' of outline ' + (i + 1);
      const sub = row(words + ': ' + island.length + ' points, not counted as wound');
      button(sub, 'part-' + i + '-island-' + k, 'Take off ' + words.toLowerCase(), () => change((d) => removeLine(d, { part: i, island: k })));
    });
  });
  drawing.depths.forEach((depth, i) => {
    const li = row('');
    const label = document.createElement('label');
    label.append('Depth ' + (i + 1) + ', in cm ');
    const input = document.createElement('input');
    input.id = 'depth-' + i;
    input.inputMode = 'decimal';
    input.autocomplete = 'off';
    input.value = depth.cm;
    input.addEventListener('input', () => edit((d) => { d.depths[i].cm = input.value; }));
    label.append(input);
    li.append(label);
    button(li, 'depth-' + i + '-off', 'Take off depth ' + (i + 1), () => change((d) => d.depths.splice(i, 1)));
  });
  drawing.marks.forEach((_, i) => {
    const name = 'Skin mark ' + 'abcdefgh'[i];
    button(row(name), 'mark-' + i + '-off', 'Take off ' + name.toLowerCase(), () => change((d) => d.marks.splice(i, 1)));
  });
  if (drawing.ruler.length > 0) {
    const li = row('Ruler: ' + (drawing.ruler.length === 2 ? 'two points' : 'one point; mark the second'));
    button(li, 'ruler-off', 'Take off the ruler', () => change((d) => { d.ruler = []; }));
  }
  list.replaceChildren(out);
  if (focus) document.getElementById(focus)?.focus();
}
