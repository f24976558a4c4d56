// @ts-check
// For instructors: groups, their codes, their members, and codes for a forgotten passphrase.

import { h, show, byId, dateTime, count, records, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { asks, attempt, faultAt, field, numberIn } from './fields.js';
import { role } from './frame.js';

const content = byId('content');
const list = h('div', {class: 'stack'});

/** In two groups of four, as it is read aloud. @param {string} code */
const readable = code => code.length === 8 ? `${code.slice(0, 4)}-${code.slice(4)}` : code;

/** @param {any} group */
function codeOf(group) {
  return group.code
    ? h('div', {}, h('p', {class: 'hint'}, `To join: ${location.host}/join`), h('p', {class: 'code'}, readable(group.code)),
      group.closes ? h('p', {class: 'hint'}, `Code good until ${dateTime(group.closes)}.`) : null)
    : h('p', {}, 'Nobody can join now.');
}

/** A code for a passphrase that was forgotten, in the row of who forgot it. @param {any} group @param {string} rater */
function reset(group, rater) {
  const made = h('div', {role: 'status'});
  const host = h('div', {}, asks('Renew', `the passphrase of ${rater}`, `${rater} gets a code that is good once, for a day, and chooses a new passphrase with it. Give it to nobody else.`, async () => {
    const code = await send('POST', `/api/groups/${part(group.id)}/members/${part(rater)}/reset`);
    show(host, made);
    show(made, h('p', {class: 'code row-code'}, readable(code.code)), h('p', {class: 'hint'}, `For ${rater}, at ${location.host}/reset, once, until ${dateTime(code.expires)}.`));
    focusOn(made);
  }, 'Make a code'));
  return host;
}

/** A link for somebody known from paper, in the row of who it is for. @param {any} group @param {any} one */
function claim(group, one) {
  const made = h('div', {role: 'status', class: 'link-made'});
  const host = h('div', {}, one.link_until ? h('p', {class: 'hint'}, `A link is good until ${dateTime(one.link_until)}; a new one takes its place.`) : null,
    asks('Make a link', `for ${one.rater}`, `Whoever has the link signs in as ${one.rater}, has the scores from before, and joins ${group.title}. It is good once, for a week. Give it to that person, and to nobody else.`, async () => {
      const code = await send('POST', `/api/groups/${part(group.id)}/unclaimed/${part(one.rater)}/link`);
      // Behind the #, so that no server and no log sees it.
      const link = `${location.origin}/claim#${part(one.rater)}/${part(code.code)}`;
      show(host, made);
      show(made, h('p', {}, h('a', {href: link, class: 'claim'}, link)), h('p', {class: 'hint'}, `For ${one.rater}, once, until ${dateTime(code.expires)}. Or, at ${location.host}/claim, the code ${readable(code.code)}.`));
      focusOn(made);
    }));
  return host;
}

/** @param {any} group @param {boolean} fresh */
function groupCard(group, fresh) {
  const head = h('h2', {}, group.title, group.members !== undefined ? h('span', {class: 'tag'}, count(group.members, 'member')) : null);
  const code = h('div', {}), actions = h('div', {class: 'actions'}), problem = h('div', {role: 'alert'}), members = h('div', {});
  const unseen = () => h('span', {class: 'unseen'}, ` ${group.title}`);
  const newCode = async () => {
    Object.assign(group, await send('POST', `/api/groups/${part(group.id)}/code`));
    draw();
    focusOn(code);
  };
  const draw = () => {
    show(code, codeOf(group));
    show(actions, h('a', {class: 'button', href: `/groups/${part(group.id)}`}, 'Board', h('span', {class: 'unseen'}, ` of ${group.title}`)),
      group.code ? [asks('New code', `for ${group.title}`, 'Nobody can join with the present code any longer.', newCode),
        asks('Stop joining', group.title, 'The code lets nobody join any longer; members stay.', async () => {
          await send('DELETE', `/api/groups/${part(group.id)}/code`);
          group.code = null;
          draw();
          focusOn(code);
        })]
        : h('button', {type: 'button', class: 'quiet', onclick: () => attempt(problem, newCode)}, 'Let students join', unseen()));
  };
  const showMembers = () => attempt(problem, async () => {
    const all = /** @type {any[]} */ (await get(`/api/groups/${part(group.id)}/members`));
    show(members, all.length ? records(`Members of ${group.title}`, ['Rater', 'Joined', 'Last seen', 'Passphrase'], all.map(one => [
      one.rater, dateTime(one.joined), one.last_seen ? dateTime(one.last_seen) : 'never', reset(group, one.rater)]))
      : h('p', {}, 'Nobody has joined yet.'));
  });
  const fold = h('details', {class: 'fold', ontoggle: () => { if (fold.open) showMembers(); }}, h('summary', {}, 'Members', unseen()), members);
  const paper = h('div', {}), paperProblem = h('div', {role: 'alert'});
  const showPaper = () => attempt(paperProblem, async () => {
    const all = /** @type {any[]} */ (await get(`/api/groups/${part(group.id)}/unclaimed`));
    show(paper, all.length ? [h('p', {}, 'Scores of these raters came from paper, and they have no account. With a link the person chooses a passphrase, and goes on with the same rater id.'),
      records('Raters known from paper', ['Rater', 'Scores', 'Link'], all.map(one => [one.rater, one.scores, claim(group, one)]), ['', 'number', ''])]
      : h('p', {}, 'Nobody whose scores you brought in is without an account.'));
  });
  const known = h('details', {class: 'fold', ontoggle: () => { if (known.open) showPaper(); }}, h('summary', {}, 'Known from paper, without an account', unseen()), paperProblem, paper);
  draw();
  return {head, card: h('section', {class: fresh ? 'card go' : 'card', 'aria-label': group.title}, head, code, actions, problem, fold, known)};
}

function newGroup() {
  const problem = h('div', {role: 'alert'});
  const title = h('input', {id: 'title', maxlength: '80', required: true, autocomplete: 'off'});
  const seats = h('input', {id: 'seats', inputmode: 'numeric', maxlength: '6', autocomplete: 'off'});
  const hours = h('input', {id: 'hours', inputmode: 'decimal', maxlength: '6', autocomplete: 'off'});
  const form = h('form', {class: 'form', novalidate: true},
    field(title, 'Name of the group', 'As the students know it: a course, a year.'),
    h('details', {class: 'fold'}, h('summary', {}, 'Seats and hours'),
      field(seats, 'Seats', 'At most so many may join. Empty: no limit.'),
      field(hours, 'Hours', 'How long the code is good. Empty: 4 hours.')),
    problem, h('p', {}, h('button', {type: 'submit'}, 'Create the group')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(problem);
    if (!title.value.trim()) return faultAt(title, 'Give the group a name.');
    const room = numberIn(seats, {name: 'Seats', from: 1, to: 10000, empty: true});
    if (room === undefined) return;
    const span = numberIn(hours, {name: 'Hours', from: 0.25, to: 168, empty: true, whole: false});
    if (span === undefined) return;
    attempt(problem, async () => {
      const made = await send('POST', '/api/groups', {title: title.value.trim(), ...(room === null ? {} : {seats: room}), ...(span === null ? {} : {hours: span})});
      form.reset();
      const {card, head} = groupCard(made, true);
      list.prepend(card);
      focusOn(head);
    }, form);
  });
  return form;
}

async function start() {
  const problem = h('div', {role: 'alert'});
  show(content, role === 'lead' ? h('p', {}, h('a', {href: '/audit'}, 'Log and retention period of the department')) : null, problem, list, h('section', {class: 'no-print'}, h('h2', {}, 'A new group'), newGroup()));
  await attempt(problem, async () => {
    const groups = /** @type {any[]} */ (await get('/api/groups'));
    show(list, groups.map(group => groupCard(group, false).card));
  });
}

start();
