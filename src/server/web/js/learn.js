// @ts-check
// One item: its levels side by side, then pairs: which is higher, and by which fact.

import { h, show, announce, byId } from './dom.js';
import { get, part, words } from './api.js';
import { Trials } from './trials.js';
import { poses } from './poses.js';
import './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[2] ?? '');
const asked = new URLSearchParams(location.search);
const instrumentId = asked.get('instrument') ?? 'pediatric-balance';
const seed = asked.get('seed') ?? '1';
const content = byId('content');
let made = 0;

/** A performance, read or played. @param {any} trial @param {any} figure @param {string} name */
function performance_(trial, figure, name) {
  const host = h('div', {});
  const number = ++made;
  new Trials(host, [{...trial, practice: false}], {poses: figure, announce, item: id, watch: false, prefix: `t${number}`, name});
  return host;
}

async function start() {
  let learn, instrument;
  try {
    [learn, instrument] = await Promise.all([
      get(`/api/learn/${part(instrumentId)}/${part(id)}?seed=${part(seed)}`), get(`/api/instruments/${part(instrumentId)}`)]);
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
    return;
  }
  const figure = await poses();
  const items = /** @type {import('./types').InstrumentItem[]} */ (instrument.items);
  const at = items.findIndex(one => one.id === id), item = items[at];
  document.title = `Item ${item.id}, ${item.name} - evenhand`;
  byId('title').replaceChildren(h('span', {class: 'eyebrow'}, `Learn item ${item.id}`), ' ', item.name);
  // The question alone, without what is said beside it.
  const facts = item.observe.filter(one => instrument.observations[one])
    .map(one => ({id: one, asks: /^.*?[?.](?= |$)/.exec(instrument.observations[one].ask)?.[0] ?? instrument.observations[one].ask}));
  const link = (/** @type {import('./types').InstrumentItem | undefined} */ other, /** @type {string} */ words) => other
    ? h('a', {class: 'button quiet', href: `/learn/${part(other.id)}?instrument=${part(instrumentId)}`}, `${words}: ${other.name}`) : null;
  show(content, h('p', {class: 'task'}, item.task),
    h('h2', {}, 'The levels, each with a performance'),
    h('ol', {class: 'ladder', role: 'list'}, learn.levels.map((/** @type {any} */ level) => rung(level, figure))),
    h('h2', {}, 'Which is higher?'),
    learn.pairs.length ? h('p', {}, 'Watch or read both, and say which scores higher, and by which fact.') : h('p', {}, 'The library has no pair for this item yet.'),
    h('div', {}, learn.pairs.map((/** @type {any} */ pair, /** @type {number} */ i) => compare(pair, i, figure, facts))),
    h('p', {class: 'actions'}, link(items[at - 1], 'Previous'), link(items[at + 1], 'Next')));
}

/** @param {any} level @param {any} figure */
function rung(level, figure) {
  const {example} = level;
  return h('li', {}, h('h3', {class: 'head'}, h('span', {class: 'digit'}, level.value), h('span', {}, level.says)),
    example ? [h('p', {class: 'hint'}, example.child?.code ? `${example.child.code}, ${example.child.age} years` : example.child),
      performance_(example.trial, figure, `A performance that scores ${level.value}`),
      example.why?.length ? h('details', {class: 'fold'}, h('summary', {}, 'Why'), example.why.map((/** @type {string} */ why) => h('p', {}, why))) : null]
      : h('p', {class: 'hint'}, 'The library has no performance of this level yet.'));
}

/**
 * Nothing is told before it is asked for: with a keyboard the way to a choice goes over the others.
 * @param {any} pair @param {number} i @param {any} figure @param {{id: string, asks: string}[]} facts
 */
function compare(pair, i, figure, facts) {
  const answer = h('p', {role: 'status'});
  const half = (/** @type {string} */ letter, /** @type {any} */ trial) => trial.child ? `${letter}: ${trial.child.code}, ${trial.child.age} years` : letter;
  const choices = [['a', 'A'], ['b', 'B'], ['same', 'the same']].map(([value, words]) => ({words, input: h('input', {type: 'radio', name: `pair-${i}`, value})}));
  const fact = h('select', {id: `fact-${i}`}, h('option', {value: ''}, 'none, they score the same'),
    facts.map(one => h('option', {value: one.id}, one.asks)));
  const tell = (/** @type {Event} */ event) => {
    event.preventDefault();
    const choice = choices.find(one => one.input.checked)?.input.value;
    if (!choice) show(answer, 'Pick A, B or the same first.');
    else show(answer, h('b', {}, verdict(pair, choice, fact.value)), ' ', pair.fact);
  };
  return h('section', {'aria-label': `Pair ${i + 1}`},
    h('h3', {}, `Pair ${i + 1}`),
    h('div', {class: 'two'}, performance_(pair.a, figure, half('A', pair.a)), performance_(pair.b, figure, half('B', pair.b))),
    h('form', {class: 'compare', novalidate: true, onsubmit: tell},
      h('fieldset', {}, h('legend', {}, 'Which scores higher?'),
        h('div', {class: 'row'}, choices.map(one => h('label', {class: 'step'}, one.input, h('span', {}, one.words))))),
      h('p', {class: 'field'}, h('label', {for: `fact-${i}`}, 'By which fact?'), fact),
      h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'See', h('span', {class: 'unseen'}, ` pair ${i + 1}`)))),
    answer);
}

/** @param {any} pair @param {string} choice @param {string} fact */
function verdict(pair, choice, fact) {
  const higher = pair.higher === 'same' ? 'both score the same' : `${pair.higher.toUpperCase()} is higher`;
  if (choice !== pair.higher) return `No: ${higher}.`;
  if (pair.higher === 'same') return `Yes: ${higher}.`;
  return `Yes: ${higher}, ${pair.by.includes(fact) ? 'and by that fact' : 'but not by that'}.`;
}

start();
