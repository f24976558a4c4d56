// @ts-check
// Who is in front of the rater, and what holds when it is a real one.

import { h } from './dom.js';

/** @param {import('./types').Case} known */
export function childCard(known) {
  return h('section', {class: 'child', 'aria-label': 'The child'},
    h('h2', {}, known.child.code, h('span', {class: 'age'}, `, ${known.child.age} years`)),
    h('p', {}, known.child.picture), h('p', {class: 'setting'}, known.setting));
}

/** @param {import('./types').Instrument} instrument */
export function safetyNotes(instrument) {
  return h('details', {class: 'fold safety'}, h('summary', {}, 'When you test a real child'),
    h('ul', {}, instrument.safety.map(text => h('li', {}, text))));
}
