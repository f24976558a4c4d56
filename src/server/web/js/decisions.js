// @ts-check
// Whose decision would be another one, as the previews of rulings and of a standard show it.

import { h, count, records } from './dom.js';

/** @param {any} of */
export function changedDecisions(of) {
  return [of.changed.length ? records(`${count(of.changed.length, 'decision changes', 'decisions change')}`, ['Rater', 'Now', 'Then'], of.changed.map((/** @type {any} */ one) => [one.rater, one.before ?? 'no decision',
    [one.after ?? 'no decision', one.provisional ? h('span', {class: 'tag'}, 'provisional') : null]])) : h('p', {}, 'Nobody\u2019s.'),
    h('p', {}, `${count(of.unchanged, 'decision stays', 'decisions stay')} as ${of.unchanged === 1 ? 'it is' : 'they are'}.${of.not_reached ? ` ${count(of.not_reached, 'rater was', 'raters were')} not looked at: it would have taken too long.` : ''} All of a rater\u2019s checks are taken as one first attempt.`)];
}
