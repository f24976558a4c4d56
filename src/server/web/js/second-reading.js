// @ts-check
// A second reader scores a draft: the case as a rater sees it, a score for each item, handed in once.

import { h, show, announce, byId, count, dateTime, focusOn, records } from './dom.js';
import { get, send, part } from './api.js';
import { ask, attempt } from './fields.js';
import { childCard } from './child.js';
import { departmentNav } from './department_nav.js';
import { Trials } from './trials.js';
import { poses } from './poses.js';
import { rater } from './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[3] ?? '');
const content = byId('content');
const address = `/api/workshop/readings/${part(id)}`;

/** What was picked is kept in this tab until it is handed in. @param {number} version */
function draftOf(version) {
  const name = `evenhand-reading-${rater}-${id}-${version}`;
  /** @type {Record<string, {score: string, note: string}>} */
  let kept = {};
  try { kept = JSON.parse(sessionStorage.getItem(name) ?? '{}'); } catch { /* nothing was kept */ }
  return {
    kept,
    keep: () => { try { sessionStorage.setItem(name, JSON.stringify(kept)); } catch { /* it stays on the page */ } },
    drop: () => { try { sessionStorage.removeItem(name); } catch { /* nothing was kept */ } },
  };
}

/**
 * @param {any} caseItem @param {import('./types').InstrumentItem} item @param {import('./types').Instrument} instrument
 * @param {any} figure @param {{score: string, note: string}} given @param {() => void} changed
 */
function itemSection(caseItem, item, instrument, figure, given, changed) {
  const title = h('h2', {id: `item-${item.id}`, tabindex: '-1'}, h('span', {class: 'eyebrow'}, `Item ${item.id}`), ' ', item.name);
  const left = h('div', {class: 'trials'}, h('h3', {class: 'unseen'}, 'Trials'));
  new Trials(left, caseItem.trials, {poses: figure, announce, item: item.id, prefix: `read-${item.id}`,
    watches: item.observe.filter(name => instrument.observations[name]?.kind === 'duration').length});
  const radio = (/** @type {string} */ value) => h('input', {type: 'radio', name: `score-${item.id}`, value, checked: given.score === value, onchange: () => {
    given.score = value;
    changed();
  }});
  const others = instrument.statuses.filter(status => !['observed', 'skip-rule'].includes(status.word));
  const note = h('textarea', {id: `note-${item.id}`, rows: '2', maxlength: '900', value: given.note, onchange: () => {
    given.note = note.value.trim();
    changed();
  }});
  const pad = h('fieldset', {class: 'score'}, h('legend', {}, 'Your score', h('span', {class: 'unseen'}, ` of item ${item.id}`)),
    h('div', {class: 'levels'}, item.levels.map(level => h('label', {class: 'level'}, radio(level.label), h('span', {class: 'digit'}, level.label), h('span', {class: 'says'}, level.says)))),
    h('details', {class: 'fold', open: others.some(one => one.word === given.score)}, h('summary', {}, 'No level to give'), others.map(status =>
      h('label', {class: 'choice'}, radio(status.word), h('span', {}, h('b', {}, status.word.replaceAll('-', ' ')), `: ${status.means}`)))));
  return {title, node: h('section', {'aria-labelledby': `item-${item.id}`}, title, h('p', {class: 'task'}, item.task),
    h('div', {class: 'desk'}, left, h('div', {class: 'answer'}, pad,
      h('p', {class: 'field'}, h('label', {for: note.id}, 'What was unclear ', h('span', {class: 'hint'}, '(if anything)')), note))))};
}

/** @param {any} reading @param {any} instrument */
function handedIn(reading, instrument) {
  const name = (/** @type {string} */ item) => instrument.items.find((/** @type {any} */ one) => one.id === item)?.name ?? '';
  return [h('p', {class: 'notice'}, `You handed this reading in, ${dateTime(reading.given.at)}. It stands as it is.`),
    records('What you gave', ['Item', 'Score', 'Note'], reading.given.items.map((/** @type {any} */ one) => [`${one.item} ${name(one.item)}`, one.score.replaceAll('-', ' '), one.note]))];
}

/** @param {any} reading @param {any} instrument @param {any} figure */
function form(reading, instrument, figure) {
  const {kept, keep, drop} = draftOf(reading.version);
  const place = h('div', {class: 'asks'}), missing = h('div', {role: 'alert'}), done = h('p', {class: 'hint', role: 'status'});
  const sections = reading.case.items.map((/** @type {any} */ caseItem) => {
    const item = instrument.items.find((/** @type {any} */ one) => one.id === caseItem.id);
    const given = kept[item.id] ??= {score: '', note: ''};
    return {id: item.id, given, ...itemSection(caseItem, item, instrument, figure, given, () => { keep(); say(); })};
  });
  const say = () => { done.textContent = `${sections.filter((/** @type {any} */ one) => one.given.score).length} of ${count(sections.length, 'item')} scored.`; };
  const button = h('button', {type: 'button', onclick: () => {
    const open = sections.filter((/** @type {any} */ one) => !one.given.score);
    show(missing, open.length ? h('p', {class: 'notice'}, `Not scored yet: `, open.map((/** @type {any} */ one, /** @type {number} */ i) => [i ? ', ' : '', h('a', {href: `#item-${one.id}`}, `item ${one.id}`)]), '.') : null);
    if (open.length) return focusOn(open[0].title);
    ask(place, {question: 'Handed in, a reading stands: you cannot change it, and see the key only when the case is published. The author and the lead see it with your rater id.', yes: 'Hand in', back: () => {
      show(place, button);
      button.focus();
    }, deed: async () => {
      await send('PUT', address, {version: reading.version, items: sections.map((/** @type {any} */ one) => ({item: one.id, score: one.given.score, note: one.given.note}))});
      drop();
      await draw();
      focusOn(content.querySelector('.notice'));
    }});
  }}, 'Hand in ...');
  place.append(button);
  say();
  return [h('ul', {class: 'hint'}, h('li', {}, 'Do not talk about it with its author before you have handed in.'), h('li', {}, 'What you picked is kept in this tab. Handed in, it stands.')),
    sections.map((/** @type {any} */ one) => one.node), done, missing, place];
}

async function draw() {
  const reading = await get(address);
  const [instrument, figure] = await Promise.all([get(`/api/instruments/${part(reading.instrument)}`), poses()]);
  byId('title').replaceChildren(h('span', {class: 'eyebrow'}, 'Second reading'), ' ', reading.case.id);
  document.title = `${reading.case.id} - second reading - evenhand`;
  show(content, departmentNav(), h('p', {}, h('a', {href: '/workshop'}, 'Back to the workshop')), childCard(reading.case),
    reading.given ? handedIn(reading, instrument) : reading.case.items.length ? form(reading, instrument, figure) : h('p', {class: 'notice'}, 'This case shows nothing to score yet.'));
}

const problem = h('div', {role: 'alert'});
show(content, problem);
attempt(problem, draw);
