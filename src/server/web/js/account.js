// @ts-check
// One's own account: the passphrase, where one is signed in, one's data, and the way out.

import { h, show, byId, dateTime, records } from './dom.js';
import { get, send, part } from './api.js';
import { attempt } from './fields.js';
import { rater, role, outbox, forgetPages } from './frame.js';

const content = byId('content');

/** @param {Element} place @param {() => Promise<any>} work @param {string} done */
async function attemptAndSay(place, work, done) {
  if (await attempt(place, work)) show(place, h('p', {class: 'notice'}, done));
}

/** @param {string} id @param {string} words @param {string} complete @param {string} [hint] */
function secret(id, words, complete, hint) {
  return h('p', {class: 'field'}, h('label', {for: id}, words), hint ? h('span', {class: 'hint', id: `${id}-hint`}, hint) : null,
    h('input', {id, type: 'password', autocomplete: complete, maxlength: '256', 'aria-describedby': hint ? `${id}-hint` : null}));
}

/** @param {Element} place */
async function signOut(place) {
  const box = await outbox;
  if (box?.waiting.length) {
    box.flush(true);
    show(place, h('p', {class: 'notice'}, 'Answers still wait on this device to be sent. They stay here for you and are sent when you sign in again.'),
      h('p', {}, h('button', {type: 'button', onclick: () => leave(place)}, 'Sign out all the same')));
    return;
  }
  await leave(place);
}

/** @param {Element} place */
async function leave(place) {
  await attempt(place, async () => {
    await send('POST', '/api/sign-out');
    await forgetPages();
    location.assign('/');
  });
}

/** @param {Element} place */
async function listSessions(place) {
  await attempt(place, async () => {
    const sessions = /** @type {any[]} */ (await get('/api/sessions'));
    show(place, records('Where you are signed in', ['Since', 'Last used', 'End'], sessions.map(one => [
      dateTime(one.begun), dateTime(one.seen),
      one.this ? 'this device' : h('button', {type: 'button', class: 'quiet', onclick: () => attempt(place, async () => {
        await send('DELETE', `/api/sessions/${part(one.id)}`);
        await listSessions(place);
      })}, 'End', h('span', {class: 'unseen'}, ' this session'))])));
  });
}

async function start() {
  const out = h('div', {role: 'status'}), changed = h('div', {role: 'status'}), erased = h('div', {role: 'status'}), sessions = h('div', {});
  const passphrase = h('form', {class: 'form', novalidate: true},
    h('input', {type: 'text', autocomplete: 'username', value: rater, hidden: true}),
    secret('old', 'Current passphrase', 'current-password'),
    secret('new', 'New passphrase', 'new-password', 'At least 8 characters; four unrelated words are good.'),
    h('p', {}, h('button', {type: 'submit'}, 'Change the passphrase')), changed);
  passphrase.addEventListener('submit', event => {
    event.preventDefault();
    attemptAndSay(changed, async () => {
      await send('POST', '/api/passphrase', {old: byId('old').value, new: byId('new').value});
      passphrase.reset();
      await listSessions(sessions);
    }, 'The passphrase is changed.');
  });
  const sure = h('input', {type: 'checkbox', id: 'sure'});
  const erase = h('form', {class: 'form', novalidate: true},
    secret('confirm', 'Passphrase', 'current-password'),
    h('p', {class: 'tick'}, h('label', {}, sure, ' Erase my account with everything I scored')),
    h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'Erase')), erased);
  erase.addEventListener('submit', event => {
    event.preventDefault();
    if (!sure.checked) {
      show(erased, h('p', {class: 'notice'}, 'Tick the box to confirm: there is no way back.'));
      sure.focus();
      return;
    }
    attempt(erased, async () => {
      await send('DELETE', '/api/my-data', {passphrase: byId('confirm').value});
      await (await outbox)?.forget();
      await forgetPages();
      location.assign('/');
    });
  });
  show(content,
    h('p', {class: 'lead'}, 'You are ', h('b', {}, rater), role === 'student' ? '.' : `, ${role}.`),
    h('p', {}, h('button', {type: 'button', onclick: () => signOut(out)}, 'Sign out')), out,
    h('h2', {}, 'Passphrase'), passphrase,
    h('h2', {}, 'Sessions'), sessions,
    h('h2', {}, 'My data'),
    h('p', {}, 'All that is kept of you, as one JSON file: your sittings, what you wrote down and scored, and when.'),
    h('p', {}, h('a', {class: 'button quiet', href: '/api/my-data', download: `evenhand-${rater}.json`}, 'Download my data')),
    h('h2', {}, 'Erase'),
    h('p', {}, 'Your account and everything you scored are taken out of the store. Copies in backups go when the backups do.'), erase);
  await listSessions(sessions);
}

start();
