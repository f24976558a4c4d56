// @ts-check
// What the department's pages have in common: their list, and how trouble is said.

import { h, show } from './dom.js';
import { Refusal } from './api.js';

const pages = [['/department', 'Rounds'], ['/department/rulings', 'Rulings'], ['/department/paper', 'Paper']];

/** The pages of the department, this one marked. */
export function departmentNav() {
  return h('nav', {'aria-label': 'Department'}, h('ul', {class: 'inline'}, pages.map(([href, words]) =>
    h('li', {}, h('a', {href, 'aria-current': location.pathname === href ? 'page' : null}, words)))));
}

/** @param {unknown} error */
export const saying = error => error instanceof Refusal ? error.message : String(error);

/**
 * Does something; what goes wrong is said in the place, which reads it out.
 * @param {Element} place
 * @param {() => Promise<any>} work
 */
export async function attempt(place, work) {
  show(place);
  try {
    await work();
  } catch (error) {
    show(place, h('p', {class: 'notice'}, saying(error)));
  }
}
