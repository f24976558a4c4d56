// @ts-check
// Two pictures of a group: signed disagreement, rater by rater and item by item; and how severe each rater is.

import { h, s, signed } from './dom.js';
import { raterPath } from './instructor.js';

/** How far off counts as nothing, little, much; in levels. */
const steps = [0.1, 0.3, 0.6];

/** 0 to 3 with the sign of the value. @param {number} off */
export function shade(off) {
  const size = steps.filter(step => Math.abs(off) >= step).length;
  return off < 0 ? -size : size;
}

/** The second channel beside color: a triangle that points where the scores lie. @param {number} off */
const sign = off => shade(off) === 0 ? '\u00B7' : off > 0 ? '\u25B2' : '\u25BC';

/** @param {any} rater @param {any} item @param {number} i */
export function cellWords(rater, item, i) {
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
    h('li', {}, 'The darker, the farther: from 0.1, 0.3 and 0.6 levels on.')),
  h('p', {class: 'tick'}, h('label', {}, numbers, 'Numbers in the cells')),
  h('div', {class: 'scroll', role: 'region', 'aria-label': 'Mean of score minus key, in levels', tabindex: '0'}, table), says);
}

/**
 * One line a rater: mean signed error in points of the total, with its limits, and the standard's margin.
 * @param {any[]} raters @param {any} standard
 */
export function severityDots(raters, standard) {
  const drawn = raters.filter(one => one.bias.points !== null);
  if (!drawn.length) return null;
  const width = Math.min(700, Math.max(280, document.documentElement.clientWidth - 40));
  const left = Math.min(150, width * 0.36), right = 14, row = 26, top = 10;
  const height = top + drawn.length * row + 30;
  const reach = Math.max(4, ...drawn.map(one => Math.min(12, Math.max(Math.abs(one.bias.lower ?? one.bias.points), Math.abs(one.bias.upper ?? one.bias.points)))));
  const x = (/** @type {number} */ points) => left + (Math.max(-reach, Math.min(reach, points)) + reach) / (2 * reach) * (width - left - right);
  const outside = drawn.filter(one => one.bias.lower > standard.bias_points || one.bias.upper < -standard.bias_points);
  const ticks = width < 420 ? [-Math.floor(reach), 0, Math.floor(reach)]
    : [-Math.floor(reach), -standard.bias_points, 0, standard.bias_points, Math.floor(reach)];
  const label = `Mean signed error of ${drawn.length} raters in points of the total. ${outside.length
    ? `Wholly beyond ${standard.bias_points} points: ${outside.map(one => one.rater).join(', ')}.` : `None lies wholly beyond ${standard.bias_points} points.`} The table above has every figure.`;
  return s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'chart dots', role: 'img', 'aria-label': label},
    s('rect', {x: x(-standard.bias_points), y: top - 6, width: x(standard.bias_points) - x(-standard.bias_points), height: drawn.length * row + 8, class: 'margin'}),
    s('line', {x1: x(0), x2: x(0), y1: top - 6, y2: top + drawn.length * row + 2, class: 'axis'}),
    ticks.map(tick => s('text', {x: x(tick), y: height - 8, 'text-anchor': 'middle'}, signed(tick, 0))),
    drawn.map((one, i) => {
      const y = top + (i + 0.5) * row;
      return [s('text', {x: left - 10, y: y + 5, 'text-anchor': 'end'}, one.rater.length > 16 ? `${one.rater.slice(0, 15)}\u2026` : one.rater),
        one.bias.lower !== null && one.bias.upper !== null ? s('line', {x1: x(one.bias.lower), x2: x(one.bias.upper), y1: y, y2: y, class: 'limits'}) : null,
        s('circle', {cx: x(one.bias.points), cy: y, r: 5, class: 'dot'})];
    }));
}
