// @ts-check
// A member of a panel scores a film or a child, item after item, without seeing what others gave. Handed in once.

import { h, show, byId, count, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { attempt } from './fields.js';
import { safetyNotes } from './child.js';
import { PadTrials, outsideCard } from './pad_trials.js';
import { remembered, remember, rater } from './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[2] ?? '');
const content = byId('content');
const kept = `panel-${rater}-${id}`;

/** @param {import('./types').InstrumentItem} item @param {import('./types').Instrument} instrument @param {{score?: string, note?: string}} before */
function itemForm(item, instrument, before) {
  const name = `score-${item.id}`;
  const problem = h('p', {class: 'problem', id: `${name}-problem`});
  const radio = (/** @type {string} */ value) => h('input', {type: 'radio', name, value, checked: before.score === value});
  const note = h('input', {id: `note-${item.id}`, maxlength: '300', autocomplete: 'off', value: before.note ?? ''});
  const group = h('fieldset', {class: 'score', id: name, tabindex: '-1', 'aria-describedby': `${name}-problem`},
    h('legend', {}, `${item.id} ${item.name}`), h('p', {class: 'hint'}, item.task),
    h('div', {class: 'levels'}, item.levels.map(level => h('label', {class: 'level'}, radio(level.label),
      h('span', {class: 'digit'}, level.label), h('span', {class: 'says'}, level.says)))),
    h('details', {class: 'fold', open: Boolean(before.score && !item.levels.some(level => level.label === before.score))}, h('summary', {}, 'No level to give', h('span', {class: 'unseen'}, ` for item ${item.id}`)), instrument.statuses.filter(one => one.word !== 'observed').map(one =>
      h('label', {class: 'choice'}, radio(one.word), h('span', {}, h('b', {}, one.word.replaceAll('-', ' ')), `: ${one.means}`)))),
    problem, h('p', {class: 'field'}, h('label', {for: note.id}, 'What decided (if you like)', h('span', {class: 'unseen'}, ` item ${item.id}`)), note));
  group.addEventListener('change', () => { problem.textContent = ''; });
  return {group, problem, note, item, get score() { return /** @type {HTMLInputElement | null} */ (group.querySelector('input[type=radio]:checked'))?.value ?? ''; }};
}

/** @param {any} one @param {import('./types').Instrument} instrument */
function draw(one, instrument) {
  const before = /** @type {Record<string, {score?: string, note?: string}>} */ (JSON.parse(remembered(kept) ?? '{}'));
  const items = instrument.items.filter(item => one.items.includes(item.id)).map(item => itemForm(item, instrument, before[item.id] ?? {}));
  const problem = h('div', {role: 'alert', tabindex: '-1'});
  const submit = h('button', {type: 'submit', class: 'save'}, 'Hand in');
  const form = h('form', {class: 'scoring', novalidate: true}, items.map(one => one.group), problem,
    h('p', {}, 'Handed in, your scores stand: nobody changes them, and you see nobody else\u2019s before the panel is closed.'),
    h('p', {class: 'actions'}, submit));
  form.addEventListener('input', () => remember(kept, JSON.stringify(Object.fromEntries(items.map(({item, note, score}) => [item.id, {score, note: note.value}])))));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const open = items.filter(({score}) => !score);
    for (const {problem: says, score} of items) says.textContent = score ? '' : 'Pick a score, or say why there is none.';
    if (open.length) {
      show(problem, h('p', {class: 'notice'}, `${count(open.length, 'item is', 'items are')} not scored yet: `,
        open.map(({item}, i) => [i ? ', ' : '', h('a', {href: `#score-${item.id}`}, item.id)]), '.'));
      open[0].group.focus();
      open[0].group.scrollIntoView({block: 'start'});
      return;
    }
    submit.disabled = true;
    attempt(problem, async () => {
      await send('POST', `/api/external/${part(id)}/readings`, {scores: Object.fromEntries(items.map(({item, score}) => [item.id, score])),
        notes: Object.fromEntries(items.map(({item, note}) => [item.id, note.value.trim()]).filter(([, note]) => note))});
      remember(kept, null);
      const done = h('h2', {}, 'Handed in');
      show(content, done, h('p', {}, `Thank you. When the panel of ${one.child.code} is closed, what all of you gave becomes its key.`),
        h('p', {}, h('a', {href: '/external'}, 'To films and live children')));
      focusOn(done);
    }).then(() => { submit.disabled = false; });
  });
  const watch = h('div', {class: 'stays'});
  const pad = new PadTrials(watch, [{written: null, timeline: null}], {watches: 1});
  pad.addEventListener('readings', () => {});
  show(content, h('p', {class: 'lead'}, `${one.child.code}, ${one.child.age} years. ${one.child.picture} ${one.setting}`),
    outsideCard(one.external), safetyNotes(instrument),
    h('p', {}, 'Score alone, and talk with nobody about it before the panel is closed. What you enter is kept on this device until you hand it in.'),
    h('div', {class: 'desk'}, h('div', {class: 'trials'}, watch), h('div', {class: 'answer'}, form)));
}

attempt(content, async () => {
  const one = await get(`/api/external/${part(id)}`);
  if (one.panel) return show(content, h('p', {}, 'The panel of this case is closed.'), h('p', {}, h('a', {href: '/external'}, 'To films and live children')));
  if (one.mine) return show(content, h('p', {}, 'Your scores are in. They stay hidden until the panel is closed.'), h('p', {}, h('a', {href: '/external'}, 'To films and live children')));
  draw(one, await get(`/api/instruments/${part(one.instrument)}`));
});
