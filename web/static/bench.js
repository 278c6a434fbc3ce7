// Sliders beside the Bench's numbers, and the result again while one moves. The page works without it.
// @ts-check
'use strict';

{
  const form = document.querySelector('form[data-bench]');
  const result = document.getElementById('bench-result');
  const said = document.getElementById('bench-said');
  // Waiting a little joins the steps of a slider into one request; a redraw stays well under a tenth of a second.
  const wait = 10;
  const speak = 700;
  /** @type {number | undefined} */
  let timer;
  /** @type {number | undefined} */
  let speaker;
  let busy = false;
  let again = false;

  /** Asks for the result; while one is on its way the next waits for it. */
  async function redraw() {
    if (!(form instanceof HTMLFormElement) || !result) return;
    if (busy) {
      again = true;
      return;
    }
    busy = true;
    const q = new URLSearchParams();
    for (const [name, value] of new FormData(form)) q.append(name, String(value));
    const address = '?' + q;
    q.append('part', 'result');
    try {
      const answer = await fetch((form.dataset.bench ?? '/bench') + '?' + q, { credentials: 'same-origin' });
      if (answer.ok || answer.status === 422) {
        const open = [...result.querySelectorAll('details')].map((d) => d.open);
        result.innerHTML = await answer.text();
        result.querySelectorAll('details').forEach((d, i) => { d.open = open[i] ?? false; });
        mark();
        history.replaceState(null, '', address);
        clearTimeout(speaker);
        speaker = setTimeout(tell, speak);
      }
    } catch {
      // No network: the button still sends the form.
    }
    busy = false;
    if (again) {
      again = false;
      redraw();
    }
  }

  /** Marks the numbers that the answer's list of problems names. */
  function mark() {
    for (const input of form?.querySelectorAll('input[data-slide]') ?? []) {
      const wrong = result?.querySelector('.problems a[href="#' + input.id + '"]') !== null;
      if (wrong) input.setAttribute('aria-invalid', 'true');
      else input.removeAttribute('aria-invalid');
      input.closest('.field')?.classList.toggle('wrong', wrong);
    }
  }

  /** Tells a reader who does not see the chart what came out, once the numbers rest. */
  function tell() {
    if (!said || !result) return;
    const words = [...result.querySelectorAll('[data-said]')].map((x) => x.getAttribute('data-said') ?? '');
    said.textContent = words.length > 0 ? words.join(' ') : result.querySelector('.problems h2')?.textContent ?? '';
  }

  function sliders() {
    for (const input of form?.querySelectorAll('input[data-slide]') ?? []) {
      if (!(input instanceof HTMLInputElement)) continue;
      const slide = document.createElement('input');
      slide.type = 'range';
      slide.min = input.dataset.slide ?? '0';
      slide.max = input.dataset.slideTo ?? '100';
      slide.step = input.dataset.slideStep ?? '1';
      slide.setAttribute('aria-label', input.dataset.slideLabel ?? '');
      const follow = () => {
        slide.value = input.value.replace(',', '.');
        slide.classList.toggle('empty', input.value.trim() === '');
      };
      follow();
      slide.addEventListener('input', (event) => {
        event.stopPropagation();
        input.value = slide.value;
        slide.classList.remove('empty');
        input.dispatchEvent(new Event('input', { bubbles: true }));
      });
      input.addEventListener('input', () => { if (document.activeElement !== slide) follow(); });
      input.closest('.field')?.append(slide);
    }
  }

  sliders();
  form?.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(redraw, wait);
  });
}
