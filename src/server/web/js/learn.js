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
  const link = (/** @type {import('./types').InstrumentItem | undefined} */ other, /** @type {string} */ words) => other
    ? h('a', {class: 'button quiet', href: `/learn/${part(other.id)}?instrument=${part(instrumentId)}`}, `${words}: ${other.name}`) : null;
  show(content, h('p', {class: 'task'}, item.task),
    h('h2', {}, 'The levels, each with a performance'),
    h('ol', {class: 'ladder', role: 'list'}, learn.levels.map((/** @type {any} */ level) => rung(level, figure))),
    h('h2', {}, 'Which is higher?'),
    learn.pairs.length ? h('p', {}, 'Decide first, then say to yourself by which fact.') : h('p', {}, 'The library has no pair for this item yet.'),
    h('div', {}, learn.pairs.map((/** @type {any} */ pair, /** @type {number} */ i) => compare(pair, i, figure))),
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

/** @param {any} pair @param {number} i @param {any} figure */
function compare(pair, i, figure) {
  const answer = h('p', {role: 'status'});
  const half = (/** @type {string} */ letter, /** @type {any} */ trial) => trial.child ? `${letter}: ${trial.child.code}, ${trial.child.age} years` : letter;
  const pick = (/** @type {string} */ choice, /** @type {string} */ words) => h('label', {class: 'step'},
    h('input', {type: 'radio', name: `pair-${i}`, value: choice, onchange: () => {
      const right = pair.higher === 'a' ? 'A is higher.' : pair.higher === 'b' ? 'B is higher.' : 'Both score the same.';
      show(answer, h('b', {}, choice === pair.higher ? 'Yes: ' : 'No: ', right), ' ', pair.fact);
    }}), h('span', {}, words));
  return h('section', {'aria-label': `Pair ${i + 1}`},
    h('h3', {}, `Pair ${i + 1}`),
    h('div', {class: 'two'}, performance_(pair.a, figure, half('A', pair.a)), performance_(pair.b, figure, half('B', pair.b))),
    h('fieldset', {}, h('legend', {}, 'Which scores higher?'),
      h('div', {class: 'row'}, pick('a', 'A'), pick('b', 'B'), pick('same', 'the same'))),
    answer);
}

start();
