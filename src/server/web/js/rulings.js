// @ts-check
// The department's rulings: what is in force, what is open, and a text that is looked at before it counts.

import { h, show, byId, date, table, count, records, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, faultAt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { changedDecisions } from './decisions.js';
import { toLine } from './source_lines.js';
import { criteriaTable } from './criteria.js';
import './frame.js';

const content = byId('content');
const problem = h('div', {role: 'alert'});
const body = h('div', {});

/** @typedef {{file: string | null, line: number, column: number, says: string}} Fault */
/** @typedef {{case: string, item: string, before: string | null, after: string | null, decides_before: boolean, decides_after: boolean}} Change */

/** @param {Change[]} changes */
function changesTable(changes) {
  if (!changes.length) return h('p', {}, 'No key of a case changes.');
  const key = (/** @type {string | null} */ level, /** @type {boolean} */ decides) =>
    `${level ?? 'no level'}${decides ? '' : ', not held against anybody'}`;
  return table(`${count(changes.length, 'key changes', 'keys change')}`, ['Case', 'Item', 'Key now', 'Key then'],
    changes.map(one => [one.case, one.item, key(one.before, one.decides_before), key(one.after, one.decides_after)]),
    ['', 'number', '', '']);
}

/** @param {any} zone @param {string} item */
function skeleton(zone, item) {
  const today = new Date().toISOString().slice(0, 10);
  return `  - id: our-${item}-${today}\n    item: "${item}"\n    date: ${today}\n    who: \n    why: \n` +
    `    situation: ${JSON.stringify(zone.words)}\n    when: ${zone.when}\n    level: "${zone.level ?? ''}"\n`;
}

/** @param {any} rulings */
function editor(rulings) {
  const area = h('textarea', {id: 'text', class: 'source', rows: '18', spellcheck: 'false', value: rulings.text});
  const outcome = h('div', {role: 'status'}), trouble = h('div', {role: 'alert'});
  const why = h('input', {id: 'why', maxlength: '300', autocomplete: 'off'});
  area.addEventListener('input', () => show(outcome));

  /** @param {any} found */
  const confirmation = found => {
    const fault = h('div', {role: 'alert'});
    const form = h('form', {novalidate: true}, h('h3', {}, 'What changes'), changesTable(found.changes),
      found.decisions ? [h('h4', {}, 'Whose decision would be another one'), changedDecisions(found.decisions)] : null,
      h('p', {}, 'From then on results, boards and reasons are worked out under these rulings, those of earlier scores too. A sitting keeps the fingerprint of the rulings it was made under; signed versions, the results of locked rounds and what was downloaded stay as they are.'),
      field(why, 'Why this change', 'Kept with it: the meeting, the reason in a sentence.'), fault,
      h('p', {class: 'actions'}, h('button', {type: 'submit'}, 'Put in force')));
    form.addEventListener('submit', event => {
      event.preventDefault();
      if (!why.value.trim()) return faultAt(why, 'Say why: it is kept with the ruling.');
      attempt(fault, async () => {
        const done = await send('PUT', `/api/rulings/${part(rulings.instrument)}`, {text: area.value, why: why.value.trim(), confirm: found.confirm});
        await draw(`In force from now on. ${count(done.changes.length, 'key has', 'keys have')} changed.`);
      }, form);
    });
    return form;
  };

  const form = h('form', {novalidate: true},
    field(area, `The department's file, ${rulings.name}`, 'One entry a ruling: id, item, date, who, why, situation, when, and level or as_if. Name roles, not people.'), trouble,
    h('p', {class: 'actions'}, h('button', {type: 'submit'}, 'Preview')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    attempt(trouble, async () => {
      const text = area.value;
      const found = await send('POST', `/api/rulings/${part(rulings.instrument)}/preview`, {text});
      // What was typed meanwhile was not looked at.
      if (area.value !== text) return;
      area.setAttribute('aria-invalid', String(found.faults.length > 0));
      if (!found.faults.length) return show(outcome, confirmation(found));
      show(outcome, h('h3', {}, count(found.faults.length, 'fault')), h('ul', {class: 'faults'}, found.faults.map((/** @type {Fault} */ fault) =>
        h('li', {}, fault.file === null
          ? h('button', {type: 'button', class: 'quiet', onclick: () => toLine(area, fault.line)}, `Line ${fault.line}`)
          : `In another file, ${fault.file}${fault.line ? `, line ${fault.line}` : ''}:`, ` ${fault.says}`))));
    });
  });
  return {form: h('div', {}, form, outcome), add: (/** @type {string} */ text) => {
    area.value = `${area.value.replace(/\s*$/, '')}\n${text}`;
    show(outcome);
    toLine(area, area.value.slice(0, area.value.length - text.length).split('\n').length);
  }};
}

/** @param {any} rulings @param {null | ((text: string) => void)} add */
function openPlaces(rulings, add) {
  return rulings.items.map((/** @type {any} */ item) => h('details', {class: 'fold', id: `item-${item.item}`},
    h('summary', {}, `Item ${item.item}, ${item.name}`),
    h('ul', {class: 'zones'}, item.zones.map((/** @type {any} */ zone) => h('li', {},
      h('p', {}, `${zone.words}: ${zone.claims}.`),
      h('p', {class: 'hint'}, zone.level === null ? 'Nobody has ruled on it.'
        : `Level ${zone.level}, ${zone.ruled_by === 'department' ? 'by a ruling of the department' : zone.ruled_by === 'instrument' ? 'by a ruling that comes with the program' : 'by the default rule'}${zone.ruling ? ` (${zone.ruling})` : ''}.`),
      add ? h('p', {class: 'no-print'}, h('button', {type: 'button', class: 'quiet', onclick: () => add(skeleton(zone, item.item))},
        'Write a ruling', h('span', {class: 'unseen'}, ` for item ${item.item}: ${zone.words}`))) : null)))));
}

/** The item that the address names is unfolded. */
function unfold() {
  const named = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!(named instanceof HTMLDetailsElement)) return;
  named.open = true;
  named.scrollIntoView();
  named.querySelector('summary')?.focus();
}

/** @param {string} [said] */
async function draw(said = '') {
  const sets = /** @type {any[]} */ (await get('/api/sets'));
  const named = new URLSearchParams(location.search).get('instrument') ?? sets[0]?.instrument;
  const [rulings, instrument] = await Promise.all([get(`/api/rulings/${part(named)}`), get(`/api/instruments/${part(named)}`)]);
  const edit = rulings.may_write ? editor(rulings) : null;
  const notice = said ? h('p', {class: 'notice', role: 'status'}, said) : null;
  show(body, notice,
    h('h2', {}, `In force for the ${rulings.title}`),
    rulings.in_force.length ? records('Rulings of the department', ['Ruling', 'Item', 'Situation', 'Level', 'Date', 'Who', 'Why'],
      rulings.in_force.map((/** @type {any} */ one) => [one.id, one.item, one.situation, one.level ?? 'as if', one.date, one.who, one.why]))
      : h('p', {}, 'The department has ruled on nothing itself: the rulings that come with the program hold.'),
    h('p', {class: 'hint'}, `Fingerprint, criteria and rulings: ${rulings.fingerprint.slice(0, 16)}`),
    edit ? h('section', {class: 'no-print'}, h('h2', {}, 'Edit the rulings'), edit.form) : h('p', {}, 'The lead of the department records rulings.'),
    h('h2', {}, 'What the criteria leave open'), h('p', {}, 'The common places first.'), openPlaces(rulings, edit?.add ?? null),
    h('h2', {id: 'criteria'}, 'Criteria not yet confirmed'), criteriaTable(instrument),
    h('h2', {}, 'Versions'),
    rulings.history.length ? records('Every version that was put in force', ['When', 'By', 'Why', 'Fingerprint, text'],
      rulings.history.map((/** @type {any} */ one) => [date(one.at), one.by ?? 'erased since', one.why, one.fingerprint.slice(0, 16)]))
      : h('p', {}, 'None yet.'));
  if (notice) focusOn(notice);
}

show(content, departmentNav(), problem, body);
addEventListener('hashchange', unfold);
attempt(problem, async () => {
  await draw();
  unfold();
});
