// The Call desk with one hand: number keys choose an answer, and the minutes that are left count down. The page works
// without it.
// @ts-check
'use strict';

{
  const buttons = [...document.querySelectorAll('.answers button')];
  if (buttons.length > 0) {
    const note = document.createElement('p');
    note.className = 'soft keys';
    note.textContent = 'Keys 1 to ' + buttons.length + ' choose an answer.';
    buttons[0].parentElement?.append(note);
    document.addEventListener('keydown', (e) => {
      const at = e.target;
      if (e.ctrlKey || e.altKey || e.metaKey || e.repeat || at instanceof HTMLInputElement || at instanceof HTMLTextAreaElement || at instanceof HTMLSelectElement) return;
      const b = buttons[Number(e.key) - 1];
      if (b instanceof HTMLButtonElement) b.click();
    });
    // A second press while the first is on its way would answer the next question unread.
    document.querySelector('form.answers')?.addEventListener('submit', () => {
      setTimeout(() => buttons.forEach((b) => { if (b instanceof HTMLButtonElement) b.disabled = true; }));
    });
    window.addEventListener('pageshow', () => buttons.forEach((b) => { if (b instanceof HTMLButtonElement) b.disabled = false; }));
  }

  const left = document.getElementById('call-left');
  const limit = Number(left?.dataset.limit);
  if (left && limit > 0) {
    setInterval(() => {
      const min = Math.round((limit - Date.now()) / 60000);
      left.textContent = min <= 0 ? 'the limit is passed' : min === 1 ? '1 minute left' : min + ' minutes left';
    }, 15000);
  }
}
