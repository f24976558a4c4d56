// @ts-check
// A picture of a group: signed disagreement, rater by rater and item by item.

import { h, signed } from './dom.js';
import { raterPath } from './instructor.js';

/** How far off counts as nothing, little, much; in levels. */
const steps = [0.1, 0.3, 0.6];

/** 0 to 3 with the sign of the value. @param {number} off */
function shade(off) {
  const size = steps.filter(step => Math.abs(off) >= step).length;
  return off < 0 ? -size : size;
}

/** The second channel beside color: a triangle that points where the scores lie. @param {number} off */
const sign = off => shade(off) === 0 ? '\u00B7' : off > 0 ? '\u25B2' : '\u25BC';

/** @param {any} rater @param {any} item @param {number} i */
function cellWords(rater, item, i) {
  const off = rater.off[i];
  return off === null || off === undefined ? `${rater.rater}, item ${item.id} ${item.name}: no score that counts.`
    : `${rater.rater}, item ${item.id} ${item.name}: ${signed(off, 2)} levels on average over ${rater.n[i]} scores.`;
}

/**
 * A table whose cells are one stop of the Tab key: arrows go on from there, and what the cell says stands below.
 * @param {any[]} raters @param {any[]} items @param {string} group
 */
export function heatMap(raters, items, group) {
  const says = h('p', {class: 'says', role: 'status'}, 'Point at a cell, or step through them with the arrow keys, and its numbers stand here.');
  const cells = /** @type {HTMLElement[][]} */ ([]);
  const rows = raters.map((rater, r) => h('tr', {}, h('th', {scope: 'row'}, h('a', {href: raterPath(group, rater.rater)}, rater.rater)),
    items.map((item, i) => {
      const off = rater.off[i];
      const known = off !== null && off !== undefined;
      const cell = h('td', {class: known ? `heat heat${shade(off) < 0 ? 'low' : 'high'}${Math.abs(shade(off))}` : 'heat none',
        tabindex: r === 0 && i === 0 ? '0' : '-1', 'data-row': String(r), 'data-column': String(i)},
      h('span', {class: 'sign', 'aria-hidden': 'true'}, known ? sign(off) : ''),
      h('span', {class: 'figure'}, known ? signed(off, 2) : h('span', {class: 'unseen'}, 'no score')));
      (cells[r] ??= [])[i] = cell;
      return cell;
    })));
  const body = h('tbody', {}, rows);
  const place = (/** @type {Event} */ event) => {
    const cell = /** @type {Element} */ (event.target).closest('.heat');
    return cell instanceof HTMLElement ? [Number(cell.dataset.row), Number(cell.dataset.column)] : null;
  };
  const tell = (/** @type {Event} */ event) => {
    const at = place(event);
    if (at) says.textContent = cellWords(raters[at[0]], items[at[1]], at[1]);
  };
  body.addEventListener('pointerover', tell);
  body.addEventListener('focusin', tell);
  body.addEventListener('keydown', event => {
    const at = place(event);
    const by = /** @type {Record<string, number[]>} */ ({ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1]})[event.key];
    if (!at || !by) return;
    const next = cells[at[0] + by[0]]?.[at[1] + by[1]];
    if (!next) return;
    event.preventDefault();
    cells[at[0]][at[1]].tabIndex = -1;
    next.tabIndex = 0;
    next.focus();
  });
  const table = h('table', {class: 'heatmap'},
    h('caption', {}, 'Mean of score minus key, in levels'),
    h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Rater'), items.map(item =>
      h('th', {scope: 'col'}, h('span', {'aria-hidden': 'true'}, item.id), h('span', {class: 'unseen'}, `${item.id} ${item.name}`))))), body);
  const numbers = h('input', {type: 'checkbox', onchange: () => table.classList.toggle('figures-shown', numbers.checked)});
  return h('div', {}, h('ul', {class: 'legend'},
    h('li', {}, h('span', {class: 'heat heathigh3', 'aria-hidden': 'true'}, '\u25B2'), 'scores too high'),
    h('li', {}, h('span', {class: 'heat heatlow3', 'aria-hidden': 'true'}, '\u25BC'), 'scores too low'),
    h('li', {}, h('span', {class: 'heat heathigh0', 'aria-hidden': 'true'}, '\u00B7'), 'within 0.1 of the key'),
    h('li', {}, 'The stronger the color, the farther: from 0.1, 0.3 and 0.6 levels on.')),
  h('p', {class: 'tick'}, h('label', {}, numbers, 'Numbers in the cells')),
  h('div', {class: 'scroll', role: 'region', 'aria-label': 'Mean of score minus key, in levels', tabindex: '0'}, table), says);
}
