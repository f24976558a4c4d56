// @ts-check
// Calibration rounds: open one, see who has finished, close it, lock it.

import { h, show, byId, dateTime, date, table, count, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { ask, attempt, faultAt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { role } from './frame.js';

/** @typedef {import('./types').Round} Round */

const content = byId('content');
const list = h('div', {class: 'stack'});
const none = h('p', {}, 'No round has been opened yet.');

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
  if (!round.takers?.length) return h('p', {}, round.for_everybody ? 'Nobody has scored.' : 'No rater of yours is invited, and none has scored.');
  return table(`Raters of ${round.title}`, ['Rater', 'Scored', 'State'], round.takers.map(one => [one.rater,
    `${one.answered} of ${round.items}`,
    one.finished ? `handed in ${dateTime(one.finished)}` : one.done ? 'entered from paper' : one.answered ? 'under way' : 'not begun']),
  ['', 'number', '']);
}

/** @param {Round} round */
function lockedWords(round) {
  if (!round.fingerprint) return null;
  return h('p', {class: 'hint'}, `Fingerprint of its scores: ${round.fingerprint.slice(0, 16)}. `,
    round.as_locked === false ? 'The scores that are there now are others: a person was erased, or the file was changed. '
      : round.as_locked ? 'Its scores are those it was locked with. ' : '',
    'Its result stays by the keys and rulings that were in force when it was locked.');
}

/** @param {Round} given */
function roundCard(given) {
  let round = given;
  const title = () => h('span', {class: 'unseen'}, ` ${round.title}`);
  const head = h('h2', {}), body = h('div', {}), actions = h('div', {class: 'actions'}), question = h('div', {}), takers = h('div', {});
  /** @type {HTMLButtonElement | null} */
  let asked = null;
  /** @param {string} verb */
  const settle = async verb => {
    round = await send('POST', `/api/rounds/${part(round.id)}/${verb}`);
    show(question);
    draw();
    focusOn(head);
  };
  /** @param {string} verb @param {string} words @param {string} warning */
  const button = (verb, words, warning) => h('button', {type: 'button', class: 'quiet', onclick: (/** @type {any} */ event) => {
    asked = event.currentTarget;
    ask(question, {question: warning, yes: [words, title()], deed: () => settle(verb), back: () => {
      show(question);
      asked?.focus();
    }});
  }}, `${words} ...`, title());
  const settling = () => !round.may_settle || round.state === 'locked' ? null
    : round.state === 'open' ? button('close', 'Close', 'From then on it takes no more scores, and its raters can see the reasons.')
      : [button('reopen', 'Open again', 'Whoever looked meanwhile has seen reasons: open it again only at once, after a mistake.'),
        button('lock', 'Lock', 'It is never opened again, and no scores come in or go out. The fingerprint of its scores is kept. Its result stays by the keys and rulings that are in force now, whatever is ruled later.')];
  const tell = () => {
    show(head, round.title, h('span', {class: 'tag'}, round.state));
    show(body, h('p', {}, `${round.set_title ?? round.set}. ${stateWords(round)} ${invitedWords(round)}`),
      round.demonstration ? h('p', {class: 'hint'}, 'A demonstration set: its cases had no second readers, so the result is no evidence about anybody.') : null,
      h('p', {}, round.raters ? `${count(round.done, 'rater has', 'raters have')} finished, ${round.begun} began, of ${round.raters}.` : round.for_everybody && role === 'lead' ? 'Nobody has begun.' : 'No rater of yours is in it.'),
      lockedWords(round));
    if (round.takers) show(takers, takersTable(round));
  };
  const draw = () => {
    tell();
    // Without a score there is no result, and where none of one's own raters scored there is none to see.
    show(actions, round.state === 'open' || !round.begun ? null
      : h('a', {class: 'button', href: `/department/rounds/${part(round.id)}`}, 'Result', h('span', {class: 'unseen'}, ` of ${round.title}`)), settling());
  };
  const problem = h('div', {role: 'alert'});
  const fold = h('details', {class: 'fold', ontoggle: () => {
    if (fold.open) attempt(problem, async () => {
      round = await get(`/api/rounds/${part(round.id)}`);
      tell();
    });
  }}, h('summary', {}, 'Who has finished', h('span', {class: 'unseen'}, ` in ${round.title}`)), problem, takers);
  draw();
  return {card: h('section', {class: 'card', 'aria-label': round.title}, head, body, fold, actions, question), head};
}

/** @param {any} choices */
function openForm(choices) {
  if (!choices.sets.length)
    return h('p', {}, 'There is no set for a calibration yet.');
  if (!choices.everybody && !choices.groups.length)
    return h('p', {}, 'A round is opened for a group of yours, and you have none yet: ', h('a', {href: '/groups'}, 'create a group'), ' first.');
  const problem = h('div', {role: 'alert'});
  const title = h('input', {id: 'title', maxlength: '80', autocomplete: 'off', required: true});
  const set = h('select', {id: 'set'}, choices.sets.map((/** @type {any} */ one) =>
    h('option', {value: one.id}, `${one.title} (${count(one.cases, 'case')}, ${count(one.items, 'item')})`)));
  const closes = h('input', {id: 'closes', type: 'date'});
  const ticks = /** @type {any[]} */ (choices.groups).map(group => ({group, box: h('input', {type: 'checkbox', name: 'group', value: group.id})}));
  const form = h('form', {class: 'form', novalidate: true}, field(title, 'Title'), field(set, 'Set'),
    field(closes, 'Closes', 'At the end of that day. Empty: when you close it.'),
    h('fieldset', {}, h('legend', {}, 'Invited groups'),
      choices.everybody ? h('p', {class: 'hint'}, 'None ticked: everybody with an account.') : null,
      ticks.length ? ticks.map(({group, box}) => h('p', {class: 'tick'}, h('label', {}, box, ` ${group.title} (${count(group.members, 'member')})`)))
        : h('p', {}, 'There are no groups yet.')),
    problem, h('p', {}, h('button', {type: 'submit'}, 'Open the round')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(problem);
    if (!title.value.trim()) return faultAt(title, 'Give the round a title.');
    if (closes.validity.badInput) return faultAt(closes, 'Closes: choose a day, or leave it empty.');
    const groups = ticks.filter(({box}) => box.checked).map(({group}) => group.id);
    if (!groups.length && !choices.everybody) {
      show(problem, h('p', {class: 'notice'}, 'Tick at least one group.'));
      return ticks[0].box.focus();
    }
    attempt(problem, async () => {
      const made = await send('POST', '/api/rounds', {title: title.value.trim(), set: set.value, groups,
        ...(closes.value ? {closes: new Date(`${closes.value}T23:59:59`).toISOString().replace('.000Z', 'Z')} : {})});
      form.reset();
      const {card, head} = roundCard(made);
      none.remove();
      list.prepend(card);
      focusOn(head);
    }, form);
  });
  return form;
}

async function start() {
  const opening = h('div', {}), problem = h('div', {role: 'alert'});
  show(content, departmentNav(), problem, list, h('section', {class: 'no-print'}, h('h2', {}, 'A new round'), opening));
  await attempt(problem, async () => {
    const [rounds, choices] = await Promise.all([get('/api/rounds'), get('/api/rounds/choices')]);
    show(list, rounds.length ? rounds.map((/** @type {Round} */ one) => roundCard(one).card) : none);
    show(opening, openForm(choices));
  });
}

start();
