// @ts-check
// What every page has: the light switch, who is signed in, what waits to be sent, the warning before a session
// ends, and the service worker.

import { h, byId, count } from './dom.js';
import { get, lastAsked } from './api.js';
import { Outbox } from './outbox.js';

export const rater = document.body.dataset.rater ?? '';
export const role = document.body.dataset.role ?? '';

/** @param {string} name @returns {string | null} */
export function remembered(name) {
  try { return localStorage.getItem(`evenhand-${name}`); } catch { return null; }
}
/** @param {string} name @param {string | null} value */
export function remember(name, value) {
  try {
    if (value === null) localStorage.removeItem(`evenhand-${name}`);
    else localStorage.setItem(`evenhand-${name}`, value);
  } catch { /* not kept: the page works all the same */ }
}

function themes() {
  const kept = remembered('theme') ?? 'auto';
  for (const input of byId('themes').querySelectorAll('input')) {
    input.checked = input.value === kept;
    input.addEventListener('change', () => {
      remember('theme', input.value === 'auto' ? null : input.value);
      if (input.value === 'auto') delete document.documentElement.dataset.theme;
      else document.documentElement.dataset.theme = input.value;
    });
  }
}

/** Past the menu, without a change of the address: a sitting's address names its item. */
function skips() {
  document.querySelector('.skip')?.addEventListener('click', event => {
    event.preventDefault();
    byId('main').focus();
  });
}

/** Pages that stand elsewhere than what leads to them. */
const within = [[/^\/(sitting|learn)\//, '/'], [/^\/audit$/, '/groups'], [/^\/sets$/, '/department'], [/^\/workshop(\/|$)/, '/department']];

/** Marks where the page belongs: itself, or what leads to it. */
function here() {
  const path = location.pathname;
  const above = within.find(([of]) => /** @type {RegExp} */ (of).test(path))?.[1];
  for (const link of document.querySelectorAll('header.top nav a')) {
    const href = link.getAttribute('href') ?? '';
    if (href === path) link.setAttribute('aria-current', 'page');
    else if (href === above || (href !== '/' && path.startsWith(`${href}/`))) link.setAttribute('aria-current', 'true');
  }
}

/** On paper nothing unfolds. What was folded is folded again afterwards. */
function unfoldsOnPaper() {
  /** @type {HTMLDetailsElement[]} */
  let opened = [];
  addEventListener('beforeprint', () => {
    opened = [...document.querySelectorAll('main details:not([open])')].filter(fold => !fold.closest('.no-print')).map(fold => /** @type {HTMLDetailsElement} */ (fold));
    for (const fold of opened) fold.open = true;
  });
  addEventListener('afterprint', () => {
    for (const fold of opened) fold.open = false;
    opened = [];
  });
}

/** The rater's outbox, opened once a page; nobody's when nobody is signed in. */
export const outbox = rater ? new Outbox(rater).open().catch(() => null) : Promise.resolve(null);

/** @param {Outbox} box */
function sayWhatWaits(box) {
  const place = byId('kept');
  const n = box.waiting.length;
  const [text, link] = box.state === 'signed-out'
    ? [`Signed out: ${count(n, 'answer waits', 'answers wait')} on this device. `,
      h('a', {href: '/sign-in?next=' + encodeURIComponent(location.pathname + location.hash)}, 'Sign in to send them')]
    : n === 0 ? ['Everything is saved.', null]
      : box.state === 'offline' ? [`Offline: ${count(n, 'answer waits', 'answers wait')} on this device.`, null]
        : ['Saving ...', null];
  if (place.dataset.text === text) return;
  place.dataset.text = text;
  place.dataset.state = n === 0 ? 'kept' : box.state;
  place.replaceChildren(text, ...(link ? [link] : []));
}

/** Minutes before its end at which the end of a session is announced. */
const warnMinutes = 5;
/** What a timer can wait for, in milliseconds: 24 days. */
const longestTimer = 2 ** 31 - 1;

/** @param {import('./types').Me | null} known */
function warnBeforeEnd(known) {
  if (!known) return;
  const whole = Date.parse(known.session.ends);
  // The session rests since this page last asked for something: other pages may put its end off unseen.
  const left = () => Math.min(whole, lastAsked + known.session.idle_seconds * 1000) - Date.now() - warnMinutes * 60000;
  setTimeout(() => {
    if (left() > 0) return warnBeforeEnd(known);
    const notice = h('div', {class: 'notice session', role: 'alert'},
      h('p', {}, `Your session ends in ${warnMinutes} minutes. Nothing that you entered is lost.`),
      h('button', {type: 'button', onclick: async () => {
        const again = await get('/api/me').catch(() => null);
        notice.remove();
        // The end of the whole session cannot be put off: then it is signing in again.
        if (again && Date.parse(again.session.ends) - Date.now() > warnMinutes * 60000) warnBeforeEnd(again);
        else location.assign('/sign-in?next=' + encodeURIComponent(location.pathname + location.hash));
      }}, 'Stay signed in'));
    byId('main').prepend(notice);
  }, Math.min(Math.max(0, left()), longestTimer));
}

/** @type {Promise<import('./types').Me | null>} */
export const me = rater ? get('/api/me').catch(() => null) : Promise.resolve(null);

async function keepForOffline() {
  if (!('serviceWorker' in navigator)) return;
  // The one address that this site ever makes into a script; whatever else would be one is refused.
  const policy = /** @type {any} */ (window).trustedTypes?.createPolicy('evenhand', {
    createScriptURL: (/** @type {string} */ address) => {
      if (address !== '/sw.js') throw new TypeError('no script of this site');
      return address;
    },
  });
  const registration = await navigator.serviceWorker.register(policy ? policy.createScriptURL('/sw.js') : '/sw.js').catch(() => null);
  if (!registration) return;
  const worker = (await navigator.serviceWorker.ready).active;
  // What this page was made of was fetched before the worker listened, perhaps.
  const parts = performance.getEntriesByType('resource').map(e => e.name)
    .filter(name => new URL(name).pathname.startsWith('/a/'));
  worker?.postMessage({keep: rater ? [location.origin + location.pathname, ...parts] : parts});
}

/** Takes what the service worker keeps of a person off the device. */
export async function forgetPages() {
  if (!('caches' in self)) return;
  for (const name of await caches.keys()) if (name.startsWith('evenhand-pages')) await caches.delete(name);
}

themes();
skips();
here();
unfoldsOnPaper();
outbox.then(box => {
  if (!box) return;
  sayWhatWaits(box);
  box.addEventListener('change', () => sayWhatWaits(box));
  box.addEventListener('refused', (/** @type {any} */ event) => {
    const {waiting, refusal} = event.detail;
    // The sitting's own page says it beside the item.
    if (location.pathname === `/sitting/${encodeURIComponent(waiting.sitting)}`) return;
    byId('main').prepend(h('p', {class: 'notice', role: 'alert'}, `Item ${waiting.item} was not taken: ${refusal.message} `,
      h('a', {href: `/sitting/${encodeURIComponent(waiting.sitting)}#${encodeURI(`${waiting.case}/${waiting.item}`)}`}, 'To the item')));
  });
});
// A page that was kept for one rater is not shown to the next.
if (rater && remembered('rater') !== rater) forgetPages().then(() => remember('rater', rater), () => {});
me.then(warnBeforeEnd);
keepForOffline().catch(() => {});
