// The body map of a form: a tap chooses the nearest place and its side in the fields below. Words that were typed stay.
// @ts-check
'use strict';
for (const map of document.querySelectorAll('.bodyMap')) {
  const svg = map.querySelector('svg');
  const form = map.closest('form');
  const said = map.querySelector('[role=status]');
  if (!(svg instanceof SVGSVGElement) || !form || !said) continue;
  const place = form.querySelector('select[name$="spot"]');
  const site = form.querySelector('input[name$="site"]');
  const sides = () => /** @type {HTMLInputElement[]} */ ([...form.querySelectorAll('input[type=radio][name$="side"]')]);
  const spots = /** @type {SVGCircleElement[]} */ ([...svg.querySelectorAll('.spot')]);

  /** Shows what the fields say. */
  const show = () => {
    if (!(place instanceof HTMLSelectElement)) return;
    const side = sides().find((x) => x.checked)?.value ?? '';
    for (const s of spots) s.classList.toggle('chosen', s.dataset.spot === place.value && (s.dataset.side === side || (side === '' && s.dataset.side === 'middle')));
  };

  svg.addEventListener('click', (e) => {
    const matrix = svg.getScreenCTM();
    if (!matrix || !(place instanceof HTMLSelectElement)) return;
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(matrix.inverse());
    const far = (/** @type {SVGCircleElement} */ s) => Math.hypot(s.cx.baseVal.value - at.x, s.cy.baseVal.value - at.y);
    const near = spots.reduce((a, b) => (far(b) < far(a) ? b : a));
    place.value = near.dataset.spot ?? '';
    for (const r of sides()) r.checked = r.value === near.dataset.side;
    const words = (near.dataset.side === 'middle' ? '' : near.dataset.side + ' ') + near.dataset.spot;
    said.textContent = 'Chosen: ' + words + '.';
    if (site instanceof HTMLInputElement) {
      if (site.value.trim() === '') site.value = words;
      else if (/\b(left|right)\b/i.test(site.value) && near.dataset.side !== 'middle' && !site.value.toLowerCase().includes(near.dataset.side ?? '')) said.textContent += ' You wrote "' + site.value + '": which side is right?';
    }
    show();
    place.dispatchEvent(new Event('input', { bubbles: true }));
  });
  form.addEventListener('change', show);
  show();
}
