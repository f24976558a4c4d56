// @ts-check
// For instructors: groups, their codes, their members, and codes for a forgotten passphrase.

import { h, show, byId, dateTime, count, records } from './dom.js';
import { get, send, part, Refusal } from './api.js';
import './frame.js';

const content = byId('content');
const list = h('div', {});
const problem = h('div', {role: 'alert'});

/** @param {() => Promise<any>} work */
async function attempt(work) {
  show(problem);
  try {
    await work();
  } catch (error) {
    show(problem, h('p', {class: 'notice'}, error instanceof Refusal ? error.message : String(error)));
  }
}

/** In two groups of four, as it is read aloud. @param {string} code */
const readable = code => code.length === 8 ? `${code.slice(0, 4)}-${code.slice(4)}` : code;

/** @param {any} group */
function codeOf(group) {
  return group.code
    ? h('div', {}, h('p', {class: 'hint'}, `To join: ${location.host}/join`), h('p', {class: 'code'}, readable(group.code)),
      group.closes ? h('p', {class: 'hint'}, `Open until ${dateTime(group.closes)}.`) : null)
    : h('p', {}, 'Closed: nobody can join. A new code opens it again.');
}

/** @param {any} group @param {boolean} open */
function groupCard(group, open) {
  const code = h('div', {}, codeOf(group)), members = h('div', {});
  const showMembers = () => attempt(async () => {
    const all = /** @type {any[]} */ (await get(`/api/groups/${part(group.id)}/members`));
    const reset = h('div', {role: 'status'});
    show(members, all.length ? records(`Members of ${group.title}`, ['Rater', 'Joined', 'Last seen', 'Passphrase'], all.map(one => [
      one.rater, dateTime(one.joined), one.last_seen ? dateTime(one.last_seen) : 'never',
      h('button', {type: 'button', class: 'quiet', onclick: () => attempt(async () => {
        const made = await send('POST', `/api/groups/${part(group.id)}/members/${part(one.rater)}/reset`);
        show(reset, h('p', {}, `For ${one.rater}, at ${location.host}/reset, once, until ${dateTime(made.expires)}:`), h('p', {class: 'code'}, readable(made.code)));
      })}, 'New passphrase', h('span', {class: 'unseen'}, ` for ${one.rater}`))]))
      : h('p', {}, 'Nobody has joined yet.'), reset);
  });
  const fold = h('details', {class: 'fold', ontoggle: () => { if (fold.open) showMembers(); }}, h('summary', {}, 'Members'), members);
  const card = h('section', {class: 'card', 'aria-label': group.title}, h('h2', {}, group.title,
    group.members !== undefined ? h('span', {class: 'tag'}, count(group.members, 'member')) : null), code,
  h('p', {class: 'actions'}, h('a', {class: 'button', href: `/groups/${part(group.id)}`}, 'Open', h('span', {class: 'unseen'}, ` ${group.title}`)),
    h('button', {type: 'button', class: 'quiet', onclick: () => attempt(async () => {
      Object.assign(group, await send('POST', `/api/groups/${part(group.id)}/code`));
      show(code, codeOf(group));
    })}, group.code ? 'New code' : 'Open with a new code', h('span', {class: 'unseen'}, ` for ${group.title}`)),
    h('button', {type: 'button', class: 'quiet', onclick: () => attempt(async () => {
      await send('DELETE', `/api/groups/${part(group.id)}/code`);
      group.code = null;
      show(code, codeOf(group));
    })}, 'Close', h('span', {class: 'unseen'}, ` ${group.title}`))), fold);
  if (open) card.classList.add('go');
  return card;
}

async function start() {
  const form = h('form', {class: 'form', novalidate: true},
    h('p', {class: 'field'}, h('label', {for: 'title'}, 'Name of the group'),
      h('span', {class: 'hint', id: 'title-hint'}, 'As the students know it: a course, a year.'),
      h('input', {id: 'title', 'aria-describedby': 'title-hint', maxlength: '80', required: true, autocomplete: 'off'})),
    h('details', {class: 'fold'}, h('summary', {}, 'Seats and hours'),
      h('p', {class: 'field'}, h('label', {for: 'seats'}, 'Seats'), h('span', {class: 'hint', id: 'seats-hint'}, 'At most so many may join. Empty: as the site has it.'),
        h('input', {id: 'seats', inputmode: 'numeric', 'aria-describedby': 'seats-hint', maxlength: '4', autocomplete: 'off'})),
      h('p', {class: 'field'}, h('label', {for: 'hours'}, 'Hours'), h('span', {class: 'hint', id: 'hours-hint'}, 'How long the code is good. Empty: as the site has it.'),
        h('input', {id: 'hours', inputmode: 'numeric', 'aria-describedby': 'hours-hint', maxlength: '4', autocomplete: 'off'}))),
    h('p', {}, h('button', {type: 'submit'}, 'Create the group')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const title = byId('title').value.trim(), seats = byId('seats').value.trim(), hours = byId('hours').value.trim();
    if (!title) {
      show(problem, h('p', {class: 'notice'}, 'Give the group a name.'));
      byId('title').focus();
      return;
    }
    attempt(async () => {
      const made = await send('POST', '/api/groups', {title, ...(seats ? {seats: Number(seats)} : {}), ...(hours ? {hours: Number(hours)} : {})});
      form.reset();
      list.prepend(groupCard(made, true));
    });
  });
  show(content, document.body.dataset.role === 'lead' ? h('p', {}, h('a', {href: '/audit'}, 'Log and retention period of the department')) : null, problem, list, h('h2', {}, 'A new group'), form);
  await attempt(async () => {
    const groups = /** @type {any[]} */ (await get('/api/groups'));
    show(list, groups.length ? groups.map(group => groupCard(group, false)) : null);
  });
}

start();
