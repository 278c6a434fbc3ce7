// What a shared computer needs: no page from memory after somebody left, and no session that runs out under a person
// who is typing. Every page works without it.
// @ts-check
'use strict';

// A page that the browser kept in memory is asked for again, so that it is shown to whoever is signed in now.
addEventListener('pageshow', (event) => {
  if (event.persisted) location.reload();
});

// What was drawn and not confirmed is kept in this browser as points; it goes when its person does.
addEventListener('submit', (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !['/leave', '/switch'].includes(new URL(form.action).pathname)) return;
  try {
    for (const name of Object.keys(localStorage)) if (name.startsWith('lowtide-outline:') || name.startsWith('lowtide-draft:')) localStorage.removeItem(name);
  } catch {
    // A browser that keeps nothing has nothing to forget.
  }
});

// A form that was saved is not kept any longer.
if (new URLSearchParams(location.search).has('saved')) {
  try {
    for (const name of JSON.parse(sessionStorage.getItem('lowtide-sent') ?? '[]')) if (name.startsWith('lowtide-draft:')) localStorage.removeItem(name);
    sessionStorage.removeItem('lowtide-sent');
  } catch {
    // nothing was kept
  }
}

// Typing counts as use: at most once in five minutes it is told to the server.
{
  const every = 5 * 60 * 1000;
  let last = Date.now();
  addEventListener('input', () => {
    if (Date.now() - last < every) return;
    last = Date.now();
    fetch('/stay', { method: 'POST', credentials: 'same-origin' }).catch(() => {});
  });
}
