// @ts-check
// The forms before one is signed in: checked here for what is missing, then by the site, and whatever is wrong is
// said beside the field and in a summary that takes the focus.

import { h, show, byId } from './dom.js';
import { send, Refusal } from './api.js';
import './frame.js';

/** Where to go after signing in: a path of this site. @param {string} otherwise */
export function onward(otherwise = '/') {
  const next = new URLSearchParams(location.search).get('next') ?? '';
  const address = new URL(next || otherwise, location.href);
  return address.origin === location.origin ? address.pathname + address.search + address.hash : otherwise;
}

/**
 * @param {string} path  of the API
 * @param {Record<string, string>} missing  what to say of an empty field, by its id
 * @param {() => void} after
 */
export function sends(path, missing, after) {
  const form = byId('form'), problems = byId('problems');
  const button = form.querySelector('button[type=submit]');
  const fields = Object.keys(missing);
  const reveal = document.getElementById('show');
  reveal?.addEventListener('change', () => {
    byId('passphrase').type = /** @type {HTMLInputElement} */ (reveal).checked ? 'text' : 'password';
  });

  /** @param {{field: string | null, says: string}[]} faults */
  const say = faults => {
    for (const field of fields) {
      const input = byId(field), fault = faults.find(one => one.field === field);
      const place = `${field}-problem`;
      document.getElementById(place)?.remove();
      input.setAttribute('aria-invalid', fault ? 'true' : 'false');
      const described = (input.getAttribute('aria-describedby') ?? '').split(' ').filter((/** @type {string} */ one) => one && one !== place);
      if (fault) {
        input.after(h('span', {class: 'problem', id: place}, fault.says));
        described.push(place);
      }
      if (described.length) input.setAttribute('aria-describedby', described.join(' '));
      else input.removeAttribute('aria-describedby');
    }
    problems.hidden = faults.length === 0;
    if (!faults.length) return;
    show(problems, h('h2', {}, 'That did not work yet'), h('ul', {}, faults.map(fault => h('li', {}, fault.field
      ? h('a', {href: `#${fault.field}`, onclick: (/** @type {Event} */ event) => {
        event.preventDefault();
        byId(String(fault.field)).focus();
      }}, fault.says) : fault.says))));
    problems.focus();
  };

  form.addEventListener('submit', async (/** @type {Event} */ event) => {
    event.preventDefault();
    /** @type {Record<string, string>} */
    const body = {};
    for (const field of fields) body[field] = field === 'passphrase' ? byId(field).value : byId(field).value.trim();
    const faults = fields.filter(field => !body[field]).map(field => ({field, says: missing[field]}));
    if (faults.length) return say(faults);
    button.disabled = true;
    try {
      await send('POST', path, body);
      say([]);
      after();
    } catch (error) {
      const refusal = error instanceof Refusal ? error : new Refusal(0, 'fault', String(error));
      say([{field: fields.find(field => field === refusal.field) ?? null, says: refusal.message}]);
    } finally {
      button.disabled = false;
    }
  });
}
