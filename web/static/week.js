// Moves a visit of the Week by dragging it or with Alt and an arrow: it sends the form that the visit carries. Without this
// script the form does it. On the sketch map a tap fills the kilometres into the form of a place.
// @ts-check
'use strict';

const table = document.querySelector('table[data-week]');
if (table instanceof HTMLTableElement) {
  const said = document.querySelector('[data-week-said]');
  /** @param {HTMLElement} visit @param {HTMLElement} cell */
  const put = (visit, cell) => {
    const form = visit.querySelector('form');
    const day = cell.dataset.day, nurse = cell.dataset.nurse;
    if (!(form instanceof HTMLFormElement) || !day || !nurse) return;
    const set = (/** @type {string} */ name, /** @type {string} */ value) => {
      const field = form.elements.namedItem(name);
      if (field instanceof HTMLSelectElement) field.value = value;
    };
    set('day', day);
    set('nurse', nurse);
    if (said) said.textContent = 'Planning around it.';
    form.submit();
  };
  /** @type {HTMLElement | null} */
  let dragged = null;
  table.addEventListener('dragstart', (e) => {
    dragged = e.target instanceof HTMLElement ? e.target.closest('details.visit') : null;
    if (dragged && e.dataTransfer) e.dataTransfer.setData('text/plain', dragged.dataset.case || '');
  });
  table.addEventListener('dragover', (e) => {
    if (dragged && e.target instanceof HTMLElement && e.target.closest('td[data-day]')) e.preventDefault();
  });
  table.addEventListener('drop', (e) => {
    const cell = e.target instanceof HTMLElement ? e.target.closest('td[data-day]') : null;
    if (dragged && cell instanceof HTMLElement) {
      e.preventDefault();
      put(dragged, cell);
    }
    dragged = null;
  });
  table.addEventListener('keydown', (e) => {
    const visit = e.target instanceof HTMLElement ? e.target.closest('details.visit') : null;
    const cell = visit && visit.closest('td');
    if (!(visit instanceof HTMLElement) || !(cell instanceof HTMLTableCellElement) || !e.altKey) return;
    const row = /** @type {HTMLTableRowElement} */ (cell.parentElement);
    const rows = Array.from(table.tBodies[0].rows);
    let r = rows.indexOf(row), c = cell.cellIndex;
    if (e.key === 'ArrowRight') c++;
    else if (e.key === 'ArrowLeft') c--;
    else if (e.key === 'ArrowDown') r++;
    else if (e.key === 'ArrowUp') r--;
    else return;
    const to = rows[r] && rows[r].cells[c];
    e.preventDefault();
    if (to && to.dataset.day) put(visit, to);
    else if (said) said.textContent = 'There is nothing in that direction.';
  });
}

const map = document.querySelector('svg[data-map]');
if (map instanceof SVGSVGElement) {
  map.addEventListener('click', (e) => {
    const box = map.getBoundingClientRect(), km = Number(map.dataset.km);
    const east = document.querySelector('input[name=east]'), north = document.querySelector('input[name=north]');
    if (!(east instanceof HTMLInputElement) || !(north instanceof HTMLInputElement) || !km) return;
    east.value = (((e.clientX - box.left) / box.width - 0.5) * 2 * km).toFixed(2);
    north.value = ((0.5 - (e.clientY - box.top) / box.height) * 2 * km).toFixed(2);
    const part = east.closest('details');
    if (part) part.open = true;
    east.focus();
  });
}
