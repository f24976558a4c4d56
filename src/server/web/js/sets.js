// @ts-check
// Sets: those there are, and a form to compose one.

import { h, show, byId, date, count, modeWords, records, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { ask, attempt, faultAt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { sheetButtons } from './files.js';
import { emptyDraft, setChoices, setForm } from './set_form.js';
import './frame.js';

const content = byId('content');
const problem = h('div', {role: 'alert'}), said = h('div', {}), list = h('div', {}), composing = h('section', {class: 'no-print', 'aria-labelledby': 'compose'});

/** @param {string} words */
function tell(words) {
  const notice = h('p', {class: 'notice', role: 'status'}, words);
  show(said, notice);
  focusOn(notice);
}

/** @param {string} heading @param {any} choices @param {import('./set_form.js').Draft} draft @param {boolean} changing @param {boolean} asksStay */
function compose(heading, choices, draft, changing = false, asksStay = false) {
  const head = h('h2', {id: 'compose'}, heading);
  show(composing, head, setForm(choices, draft, {changing, asksStay,
    after: async words => { await start(); tell(words); },
    instrument: id => attempt(problem, async () => compose(heading, await setChoices(id), emptyDraft(id)))}),
  changing || draft.entries.length ? h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => attempt(problem, async () =>
    focusOn(compose('Compose a set', await setChoices(choices.instrument), emptyDraft(choices.instrument))))}, 'Leave this and begin an empty set')) : null);
  return head;
}

/** @param {any} one @param {boolean} changing */
const open = (one, changing) => attempt(problem, async () => {
  const [full, choices] = await Promise.all([get(`/api/own-sets/${part(one.id)}`), setChoices(one.instrument)]);
  show(said);
  focusOn(changing ? compose(`Change "${one.title}"`, choices, full.draft, true, full.asks_stay)
    : compose(`A new set like "${one.title}"`, choices, {...full.draft, id: '', title: '', retired: false}));
});

/** Withdrawn or brought back, in the two steps of every change. @param {any} one @param {Element} place @param {HTMLElement} button */
async function retire(one, place, button) {
  const {draft} = await get(`/api/own-sets/${part(one.id)}`);
  const wanted = {...draft, retired: !one.retired};
  const found = await send('POST', `/api/own-sets/${part(one.id)}/preview`, wanted);
  const back = () => { show(place); button.focus(); };
  if (!found.confirm) return ask(place, {question: found.faults.map((/** @type {any} */ fault) => fault.says).join(' '), yes: 'Understood', deed: async () => back(), back});
  const why = h('input', {id: `why-${one.id}`, maxlength: '300', autocomplete: 'off'});
  ask(place, {question: [...found.changes, field(why, 'Why', 'Kept with it, in a sentence.')], yes: [one.retired ? 'Bring back' : 'Withdraw', h('span', {class: 'unseen'}, ` ${one.title}`)], back, deed: async () => {
    if (!why.value.trim()) return faultAt(why, 'Say why: it is kept with the set.');
    await send('PUT', `/api/own-sets/${part(one.id)}`, {...wanted, why: why.value.trim(), confirm: found.confirm});
    await start();
    tell(one.retired ? `"${one.title}" can be given and begun again.` : `"${one.title}" is withdrawn: nothing new is begun with it.`);
  }});
}

/** @param {any} one */
function deeds(one) {
  const place = h('div', {}), fault = h('div', {role: 'alert'});
  const of = () => h('span', {class: 'unseen'}, ` ${one.title}`);
  const buttons = [h('button', {type: 'button', class: 'quiet small', onclick: () => open(one, false)}, 'Begin a new one like it', of())];
  if (one.may_change) {
    buttons.unshift(h('button', {type: 'button', class: 'quiet small', onclick: () => open(one, true)}, 'Change', of()));
    const button = h('button', {type: 'button', class: 'quiet small', onclick: () => attempt(fault, () => retire(one, place, button))}, one.retired ? 'Bring back ...' : 'Withdraw ...', of());
    buttons.push(button);
  }
  return h('div', {}, h('div', {class: 'row'}, buttons), fault, place, sheetButtons(one.id, one.title));
}

async function start() {
  await attempt(problem, async () => {
    const [sets, choices] = await Promise.all([get('/api/own-sets'), setChoices()]);
    show(list, records('Every set', ['Set', 'For', 'Size', 'Whose', 'What rests on it', 'To do'], sets.map((/** @type {any} */ one) => [
      [one.title, one.retired ? h('span', {class: 'tag'}, 'withdrawn') : null, one.demonstration ? h('span', {class: 'tag'}, 'demonstration') : null],
      modeWords(one.mode), `${count(one.cases, 'case')}, ${count(one.items, 'item')}`,
      one.own ? `${one.by ?? 'somebody erased since'}, ${date(one.at)}` : 'comes with the program', one.uses ?? 'nothing yet', deeds(one)])));
    compose('Compose a set', choices, emptyDraft(choices.instrument));
  });
}

show(content, departmentNav(), problem, said,
  h('h2', {}, 'The sets there are'),
  h('p', {}, 'Any instructor may put a set in force. It is changed or withdrawn by whoever did, and by the lead of the department; every version is kept. What scores rest on stays.'), list, composing);
start();
