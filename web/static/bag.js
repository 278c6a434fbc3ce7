// Keeps each tick of the bag at once. Without this script the button below the list does it.
// @ts-check
'use strict';

const bag = document.querySelector('form[data-bag]');
if (bag instanceof HTMLFormElement) {
  const said = bag.querySelector('[role=status]');
  let queue = Promise.resolve();
  const keep = async () => {
    let words = 'Kept.';
    try {
      const body = new URLSearchParams();
      for (const [name, value] of new FormData(bag)) body.append(name, String(value));
      const answer = await fetch(bag.action, { method: 'POST', body, redirect: 'follow' });
      if (!answer.ok) words = 'Not kept. Press the button to try again.';
    } catch {
      words = 'Not kept: no connection. Press the button when there is one.';
    }
    if (said) said.textContent = words;
  };
  // One after the other, so that a slow answer never undoes a later tick.
  bag.addEventListener('change', () => { queue = queue.then(keep); });
}
