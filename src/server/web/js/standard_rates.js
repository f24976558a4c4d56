// @ts-check
// How often a standard calls raters ready, not yet, or asks for more cases: curves, and the table behind them.

import { h, s, show, table } from './dom.js';

/** To a tenth of a percent where that tells, never "0%" of what was seen. @param {number} share */
const rate = share => `${(share * 100).toFixed(share > 0 && share < 0.1 ? 1 : 0)}%`;
/** @param {number} share */
const agreement = share => `${Number((share * 100).toFixed(2))}%`;

const dashes = ['', '9 4', '5 4', '2 4'];

/** Share ready over the true share, a curve for each correlation. @param {any} curves @param {number[]} correlations @param {number} attempts */
function picture(curves, correlations, attempts) {
  const width = Math.min(560, Math.max(270, document.documentElement.clientWidth - 48)), height = 250, left = 44, right = 12, top = 12, bottom = 44;
  const shares = curves.points.map((/** @type {any} */ one) => one.share);
  const from = Math.min(...shares), to = Math.max(...shares);
  const x = (/** @type {number} */ share) => left + (share - from) / (to - from) * (width - left - right);
  const y = (/** @type {number} */ value) => top + (1 - value) * (height - top - bottom);
  const edge = curves.points.filter((/** @type {any} */ one) => one.share === curves.not_acceptable);
  return s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'chart', role: 'img',
    'aria-label': `Percent of raters called ready, against their true agreement with the key. At the lower edge, ${agreement(curves.not_acceptable)}: ${
      edge.map((/** @type {any} */ one) => `${rate(one.attempts[attempts].ready)} at a correlation of ${one.correlation}`).join(', ')}. The table has every figure.`},
  [0, 0.25, 0.5, 0.75, 1].map(value => [s('line', {x1: left, x2: width - right, y1: y(value), y2: y(value), class: value === 0 ? 'axis' : 'grid'}),
    s('text', {x: left - 8, y: y(value) + 5, 'text-anchor': 'end'}, String(value * 100))]),
  [curves.not_acceptable, curves.competent].map(share => s('line', {x1: x(share), x2: x(share), y1: top, y2: height - bottom, class: 'even'})),
  correlations.map((correlation, i) => s('polyline', {class: 'curve', 'stroke-dasharray': dashes[i % dashes.length] || null,
    points: curves.points.filter((/** @type {any} */ one) => one.correlation === correlation).map((/** @type {any} */ one) => `${x(one.share).toFixed(1)},${y(one.attempts[attempts].ready).toFixed(1)}`).join(' ')})),
  [0.7, 0.8, 0.9].filter(share => share >= from && share <= to).map(share => s('text', {x: x(share), y: height - bottom + 18, 'text-anchor': share === from ? 'start' : 'middle'}, String(share * 100))),
  s('text', {x: width - right, y: height - 6, 'text-anchor': 'end'}, 'true agreement, %'));
}

/** @param {any} curves */
function warning(curves) {
  const of = curves.false_ready;
  const words = `Of raters who truly agree ${agreement(curves.not_acceptable)} of the time, and must not be called ready, it calls at most ${rate(of.share)} ready (simulation error ${rate(of.error)}; with one attempt, at a correlation of ${of.correlation}).`;
  return of.too_high ? h('div', {class: 'notice'}, h('p', {}, h('b', {}, 'Too often. '), words), h('p', {}, `More than ${rate(of.limit)} is more than a department should risk: ask for higher limits, fewer looks, or more cases.`))
    : h('p', {}, words, of.share > of.limit ? ` That is the ${rate(of.limit)} that may be risked, within the simulation\u2019s error.` : '');
}

/** @param {any} curves  as the site works them out */
export function ratesOf(curves) {
  const correlations = /** @type {number[]} */ ([...new Set(curves.points.map((/** @type {any} */ one) => one.correlation))]);
  const shares = /** @type {number[]} */ ([...new Set(curves.points.map((/** @type {any} */ one) => one.share))]);
  const place = h('div', {});
  const attempts = h('select', {id: 'attempts'}, h('option', {value: '0'}, 'one attempt in a year'), h('option', {value: '1'}, 'two attempts, each'));
  const draw = () => {
    const which = Number(attempts.value);
    show(place, picture(curves, correlations, which),
      h('ul', {class: 'legend'}, correlations.map((correlation, i) => h('li', {}, s('svg', {viewBox: '0 0 40 10', class: 'line-key chart', 'aria-hidden': 'true'},
        s('line', {x1: 0, x2: 40, y1: 5, y2: 5, class: 'curve', 'stroke-dasharray': dashes[i % dashes.length] || null})), `scores of a case go together by ${correlation}`))),
      h('p', {class: 'hint'}, 'Upright lines: what is not acceptable, and what is competent.'),
      correlations.map(correlation => table(`Scores of a case go together by ${correlation}`, ['True agreement', 'Ready', 'Not yet', 'More needed', 'Cases'],
        shares.map(share => {
          const of = curves.points.find((/** @type {any} */ one) => one.share === share && one.correlation === correlation).attempts[which];
          return [agreement(share) + (share === curves.not_acceptable ? ', not acceptable' : share === curves.competent ? ', competent' : ''), rate(of.ready), rate(of.not_yet), rate(of.more), of.cases.toFixed(1)];
        }), ['', 'number', 'number', 'number', 'number'])));
  };
  attempts.addEventListener('change', draw);
  draw();
  return [warning(curves), h('p', {class: 'field'}, h('label', {for: 'attempts'}, 'With'), attempts), place,
    h('p', {class: 'hint'}, `Simulated: ${curves.raters.toLocaleString('en-US')} raters for each figure, seed ${curves.seed}, decided as people are. A figure of 5% may be off by ${rate(2 * curves.error_at_stated)} either way. "More needed": neither ready nor not yet after the last look. Items equally hard, no child whom everybody scores right.`)];
}
