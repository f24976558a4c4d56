// @ts-check
// Calibration rounds: open one, see who has finished, close it, lock it.

import { h, show, byId, dateTime, date, table, count } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, departmentNav } from './department_nav.js';
import './frame.js';

/** @typedef {import('./types').Round} Round */

const content = byId('content');
const problem = h('div', {role: 'alert'});
const list = h('div', {});

/** @param {Round} round */
function stateWords(round) {
  if (round.state === 'locked') return `Locked ${date(round.locked)}.`;
  if (round.state === 'closed') return `Closed ${dateTime(round.closed)}. Raters can see the reasons.`;
  return round.closes ? `Open until ${dateTime(round.closes)}.` : 'Open.';
}

/** @param {Round} round */
function invitedWords(round) {
  if (round.for_everybody) return 'For everybody.';
  return round.groups.length ? `For ${round.groups.map(one => one.title).join(', ')}.` : 'For groups of others.';
}

/** @param {Round} round */
function takersTable(round) {
  if (!round.takers?.length) return h('p', {}, 'No rater of yours is invited, and none has scored.');
  return table(`Raters of ${round.title}`, ['Rater', 'Scored', 'State'], round.takers.map(one => [one.rater,
    `${one.answered} of ${round.items}`,
    one.finished ? `handed in ${dateTime(one.finished)}` : one.done ? 'entered from paper' : one.answered ? 'under way' : 'not begun']),
  ['', 'number', '']);
}

/** @param {Round} given */
function roundCard(given) {
  let round = given;
  const card = h('section', {class: 'card', 'aria-label': round.title});
  const say = h('div', {role: 'status'});
  const takers = h('div', {});
  /** @param {string} verb */
  const settle = verb => attempt(problem, async () => {
    round = await send('POST', `/api/rounds/${part(round.id)}/${verb}`);
    draw();
    show(say, h('p', {}, stateWords(round)));
  });
  /** @param {string} verb @param {string} words @param {string} warning */
  const button = (verb, words, warning) => h('button', {type: 'button', class: 'quiet', onclick: () => {
    show(say, h('p', {}, warning), h('p', {class: 'actions'},
      h('button', {type: 'button', onclick: () => settle(verb)}, words, h('span', {class: 'unseen'}, ` ${round.title}`)),
      h('button', {type: 'button', class: 'quiet', onclick: () => show(say)}, 'Leave it')));
  }}, `${words} ...`, h('span', {class: 'unseen'}, ` ${round.title}`));
  const draw = () => show(card, h('h2', {}, round.title, h('span', {class: 'tag'}, round.state)),
    h('p', {}, `${round.set_title ?? round.set}. ${stateWords(round)} ${invitedWords(round)}`),
    round.demonstration ? h('p', {class: 'hint'}, 'A demonstration set: its cases had no second readers, so the result is no evidence about anybody.') : null,
    h('p', {}, `${count(round.done, 'rater has', 'raters have')} finished, ${round.begun} began, of ${round.raters}.`),
    round.fingerprint ? h('p', {class: 'hint'}, `Fingerprint of its scores: ${round.fingerprint.slice(0, 16)}. `,
      round.as_locked === false ? 'The scores that are there now are others: a person was erased, or the file was changed.'
        : round.as_locked ? 'Its scores are those it was locked with.' : null) : null,
    fold, h('div', {class: 'actions'},
      round.state === 'open' ? null : h('a', {class: 'button', href: `/department/rounds/${part(round.id)}`}, 'Result', h('span', {class: 'unseen'}, ` of ${round.title}`)),
      !round.may_settle ? null
      : round.state === 'open' ? button('close', 'Close', 'From then on it takes no more scores, and its raters can see the reasons.')
        : round.state === 'closed' ? [
          button('reopen', 'Open again', 'Whoever looked meanwhile has seen reasons: open it again only at once, after a mistake.'),
          button('lock', 'Lock', 'It is never opened again, and no scores come in or go out: the result is kept with the fingerprint of its data.')] : null),
    say);
  const fold = h('details', {class: 'fold', ontoggle: () => {
    if (fold.open) attempt(problem, async () => {
      round = await get(`/api/rounds/${part(round.id)}`);
      show(takers, takersTable(round));
    });
  }}, h('summary', {}, 'Who has finished', h('span', {class: 'unseen'}, ` in ${round.title}`)), takers);
  draw();
  return card;
}

/** @param {any} choices */
function openForm(choices) {
  if (!choices.sets.length)
    return h('p', {}, 'There is no set for a calibration yet.');
  const form = h('form', {class: 'form', novalidate: true},
    h('p', {class: 'field'}, h('label', {for: 'title'}, 'Title'),
      h('input', {id: 'title', maxlength: '80', autocomplete: 'off', required: true})),
    h('p', {class: 'field'}, h('label', {for: 'set'}, 'Set'), h('select', {id: 'set'}, choices.sets.map((/** @type {any} */ set) =>
      h('option', {value: set.id}, `${set.title} (${count(set.cases, 'case')}, ${count(set.items, 'item')})`)))),
    h('p', {class: 'field'}, h('label', {for: 'closes'}, 'Closes'),
      h('span', {class: 'hint', id: 'closes-hint'}, 'At the end of that day. Empty: when you close it.'),
      h('input', {id: 'closes', type: 'date', 'aria-describedby': 'closes-hint'})),
    h('fieldset', {}, h('legend', {}, 'Invited groups'),
      choices.everybody ? h('p', {class: 'hint'}, 'None ticked: everybody with an account.') : null,
      choices.groups.length ? choices.groups.map((/** @type {any} */ group) => h('p', {class: 'tick'}, h('label', {},
        h('input', {type: 'checkbox', name: 'group', value: group.id}), ` ${group.title} (${count(group.members, 'member')})`)))
        : h('p', {}, 'There are no groups yet.')),
    h('p', {}, h('button', {type: 'submit'}, 'Open the round')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const title = byId('title').value.trim(), day = byId('closes').value;
    if (!title) {
      show(problem, h('p', {class: 'notice'}, 'Give the round a title.'));
      byId('title').focus();
      return;
    }
    const groups = [...form.querySelectorAll('input[name=group]')].filter(one => /** @type {any} */ (one).checked)
      .map(one => /** @type {any} */ (one).value);
    attempt(problem, async () => {
      const made = await send('POST', '/api/rounds', {title, set: byId('set').value, groups,
        ...(day ? {closes: new Date(`${day}T23:59:59`).toISOString().replace('.000Z', 'Z')} : {})});
      form.reset();
      list.prepend(roundCard(made));
    });
  });
  return form;
}

async function start() {
  const opening = h('div', {});
  show(content, departmentNav(), problem, list, h('h2', {}, 'A new round'), opening);
  await attempt(problem, async () => {
    const [rounds, choices] = await Promise.all([get('/api/rounds'), get('/api/rounds/choices')]);
    show(list, rounds.length ? rounds.map(roundCard) : h('p', {}, 'No round has been opened yet.'));
    show(opening, openForm(choices));
  });
}

start();
