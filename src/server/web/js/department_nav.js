// @ts-check
// What the department's pages have in common: their list. First what is asked for every year, then what that is made of.

import { h } from './dom.js';

/** @typedef {[string, string][]} Pages */
const main = /** @type {Pages} */ ([['/department', 'Rounds and reports'], ['/department/standards', 'Standard'], ['/department/rulings', 'Rulings']]);
const more = /** @type {[string, Pages][]} */ ([
  ['Cases and sets', [['/sets', 'Sets'], ['/workshop', 'Case workshop'], ['/external', 'Films and children']]],
  ['Scores and plans', [['/department/paper', 'Paper'], ['/department/planning', 'Planning']]]]);

/** The page itself, or what leads to it. @param {string} href */
const here = href => location.pathname === href ? 'page'
  : href === '/department' ? (location.pathname.startsWith('/department/rounds/') ? 'true' : null)
    : location.pathname.startsWith(`${href}/`) ? 'true' : null;

/** @param {Pages} pages @param {string} kind */
const list = (pages, kind) => h('ul', {class: kind}, pages.map(([href, words]) => h('li', {}, h('a', {href, 'aria-current': here(href)}, words))));

/** The pages of the department, this one marked. On a phone the rest is folded, unless one is there. */
export function departmentNav() {
  const inside = more.some(([, pages]) => pages.some(([href]) => here(href)));
  return h('nav', {'aria-label': 'Department', class: 'department no-print'}, list(main, 'tabs'),
    h('details', {class: 'fold', open: inside || matchMedia('(min-width: 48rem)').matches}, h('summary', {}, 'Cases, sets, paper, plans'),
      h('div', {class: 'shelves'}, more.map(([title, pages]) => h('div', {}, h('p', {class: 'hint'}, title), list(pages, 'inline'))))));
}
