// @ts-check
// The case workshop: what waits for a second reader, drafts, and the form that begins a case.

import { h, show, byId, count, dateTime, records } from './dom.js';
import { get, send, part } from './api.js';
import { asks, attempt, faultAt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { rater } from './frame.js';

const content = byId('content');

/** @param {any} draft @param {number} wanted */
function state(draft, wanted) {
  if (draft.published === 'same') return 'in the library as it stands';
  const before = draft.published === 'other' ? 'an earlier text is in the library; ' : '';
  if (draft.at_fault) return `${before}has faults to mend`;
  if (!draft.offered) return `${before}no second reader has been asked`;
  return `${before}waits for second readers: ${draft.readers} of ${wanted}`;
}

/** A draft of somebody else: to look at it is to see its key. @param {any} draft */
const othersLink = draft => asks('Open', `the draft ${draft.case}`,
  'You will see its key, and can then no longer be its second reader. That you looked is written into the log.',
  async () => { location.assign(`/workshop/cases/${part(draft.case)}`); }, 'Open it with its key');

/** @param {any} workshop */
function drafts(workshop) {
  if (!workshop.drafts.length) return h('p', {}, 'You have no drafts yet.');
  return records('Drafts', ['Case', 'By', 'State', 'Saved', 'Open'], workshop.drafts.map((/** @type {any} */ draft) => [
    draft.case, draft.own ? 'you' : draft.author ?? 'erased since', state(draft, workshop.second_readers), dateTime(draft.at),
    draft.own ? h('a', {class: 'button quiet', href: `/workshop/cases/${part(draft.case)}`}, 'Write', h('span', {class: 'unseen'}, ` ${draft.case}`)) : othersLink(draft)]));
}

/** @param {any} workshop */
function toRead(workshop) {
  if (!workshop.to_read.length) return h('p', {}, 'No case waits for you.');
  return records('Cases that wait for second readers', ['Case', 'By', 'Offered', 'Your reading'], workshop.to_read.map((/** @type {any} */ one) => [
    one.case, one.author ?? 'erased since', dateTime(one.at),
    h('a', {class: one.given ? null : 'button', href: `/workshop/read/${part(one.case)}`}, one.given ? 'Handed in: see it' : 'Score it without its key', h('span', {class: 'unseen'}, ` ${one.case}`))]));
}

const shares = [['typical', 'typical development'], ['mild', 'mild: clumsy, recovering, one side a little weak'], ['moderate', 'moderate: walks with orthoses or a device'],
  ['marked', 'marked: stands alone for seconds'], ['barely-stands', 'barely stands']];

/** @param {any} workshop */
function newCase(workshop) {
  const problem = h('div', {role: 'alert'});
  const input = (/** @type {string} */ id, /** @type {number} */ most) => h('input', {id, maxlength: String(most), autocomplete: 'off'});
  const select = (/** @type {string} */ id, /** @type {string[][]} */ options, /** @type {string} */ chosen) =>
    h('select', {id}, options.map(([value, label]) => h('option', {value, selected: value === chosen}, label)));
  const instrument = select('instrument', workshop.instruments.map((/** @type {any} */ one) => [one.id, one.title]), 'pediatric-balance');
  const id = input('id', 64), code = input('code', 40), age = input('age', 5);
  const share = select('share', shares, 'mild');
  const picture = h('textarea', {id: 'picture', rows: '3', maxlength: '600'}), setting = h('textarea', {id: 'setting', rows: '2', maxlength: '600'});
  const form = h('form', {class: 'form', novalidate: true},
    h('div', {class: 'notice', id: 'privacy'}, h('p', {}, h('strong', {}, 'Invent the child. '),
      'No name, initials, birth date, place or story by which a real child, family or colleague could be known, not even changed a little: what is written here can be read by every rater. A child you once tested may teach you what is plausible, and nothing more.')),
    field(instrument, 'Instrument'),
    field(id, 'Id of the case', 'Small letters, digits and hyphens; it stays: pb-robin.'),
    field(code, 'What the child is called', 'A code, no name that anybody bears: Robin, Fox, Maple.'),
    field(age, 'Age in years'),
    field(share, 'How much balance is affected'),
    field(picture, 'The child in two lines', 'A person, with a shirt, a joke, a bad mood; no diagnosis as an explanation.'),
    field(setting, 'Where it takes place', 'And what stands there: bench, wall, stool, who is at hand.'),
    problem, h('p', {}, h('button', {type: 'submit'}, 'Begin the draft')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(problem);
    for (const [control, says] of /** @type {[HTMLInputElement | HTMLTextAreaElement, string][]} */ ([[id, 'Give the case an id.'], [code, 'Give the child an invented name.'],
      [age, 'Give the age in years.'], [picture, 'Two lines about the child.'], [setting, 'Where it takes place, and what stands there.']]))
      if (!control.value.trim()) return faultAt(control, says);
    const years = Number(age.value.trim().replace(',', '.'));
    if (!(years >= 0 && years <= 120)) return faultAt(age, 'The age in years, a number: 7, or 7.5.');
    attempt(problem, async () => {
      const made = await send('POST', '/api/workshop/drafts', {instrument: instrument.value, id: id.value.trim(), code: code.value.trim(), age: years,
        share: share.value, picture: picture.value.trim(), setting: setting.value.trim()});
      location.assign(`/workshop/cases/${part(made.case)}`);
    }, form);
  });
  return form;
}

async function start() {
  const problem = h('div', {role: 'alert'}), body = h('div', {});
  show(content, departmentNav(), problem, body);
  await attempt(problem, async () => {
    const workshop = await get('/api/workshop');
    show(body,
      h('h2', {}, 'Waiting for a second reader'), toRead(workshop),
      h('h2', {}, workshop.lead ? 'Drafts of the department' : 'Your drafts'), drafts(workshop),
      h('p', {class: 'hint'}, `The standard asks for ${count(workshop.second_readers, 'second reader')}, who scored the case without its key, before a case decides about anybody. With fewer it serves practice only. The cases that come with the program have had none, so they serve practice and demonstrations.`),
      h('section', {class: 'no-print'}, h('h2', {}, 'A new case'), newCase(workshop)));
  });
}

if (rater) start();
