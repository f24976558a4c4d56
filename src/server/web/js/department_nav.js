// @ts-check
// What the department's pages have in common: their list.

import { h } from './dom.js';

const pages = [['/department', 'Rounds'], ['/department/rulings', 'Rulings'], ['/department/standards', 'Standard'], ['/sets', 'Sets'],
  ['/workshop', 'Case workshop'], ['/external', 'Films and children'], ['/department/paper', 'Paper'], ['/department/planning', 'Planning']];

/** The pages of the department, this one marked. */
export function departmentNav() {
  return h('nav', {'aria-label': 'Department', class: 'no-print'}, h('ul', {class: 'inline'}, pages.map(([href, words]) =>
    h('li', {}, h('a', {href, 'aria-current': location.pathname === href ? 'page' : null}, words)))));
}
