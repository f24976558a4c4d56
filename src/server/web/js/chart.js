// @ts-check
// Small pictures, each with its table beside it: the learning curve, how sure goes with right, and how severe raters are.

import { s, count, drawingWidth, signed } from './dom.js';

const height = 260, left = 46, right = 10, top = 12, bottom = 34;

/** @param {number} value */
const y = value => top + (1 - value) * (height - top - bottom);

/** @param {number} width @param {string} label @param {any[]} inside */
function frame(width, label, inside) {
  return s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'chart', role: 'img', 'aria-label': label},
    [0, 0.25, 0.5, 0.75, 1].map(value => [
      s('line', {x1: left, x2: width - right, y1: y(value), y2: y(value), class: value === 0 ? 'axis' : 'grid'}),
      s('text', {x: left - 8, y: y(value) + 5, 'text-anchor': 'end'}, `${value * 100}`)]),
    inside);
}

/** What the learning curve shows of them, numbered as in a table of them all, where open ones stand too. @param {any[]} sittings */
export const finishedOf = sittings => sittings.map((one, i) => ({...one, number: i + 1})).filter(one => one.finished && one.share !== null && one.scored > 0);

/**
 * Share of items scored as the key, sitting by sitting, with limits; one case alone has none.
 * @param {{number: number, share: number, lower: number | null, upper: number | null}[]} points
 */
export function learningCurve(points) {
  const width = drawingWidth(270, 640);
  const x = (/** @type {number} */ i) => points.length === 1 ? (left + width - right) / 2
    : left + 20 + i * (width - left - right - 40) / (points.length - 1);
  const last = points[points.length - 1];
  return frame(width, `Percent of items scored as the key in ${count(points.length, 'sitting')}, from ${Math.round(points[0].share * 100)} in the first to ${
    Math.round(last.share * 100)} in the last; the table below has every figure.`, [
    points.map((p, i) => p.lower === null || p.upper === null ? null : s('line', {x1: x(i), x2: x(i), y1: y(p.lower), y2: y(p.upper), class: 'limits'})),
    points.length > 1 ? s('polyline', {points: points.map((p, i) => `${x(i).toFixed(1)},${y(p.share).toFixed(1)}`).join(' '), class: 'curve'}) : null,
    points.map((p, i) => s('circle', {cx: x(i), cy: y(p.share), r: 5, class: 'dot'})),
    points.map((p, i) => points.length < 16 || i % 5 === 4
      ? s('text', {x: x(i), y: height - 12, 'text-anchor': 'middle'}, String(p.number)) : null)]);
}

/** How often right, by how sure. @param {{from: number, to: number, n: number, right: number}[]} bins */
export function sureness(bins) {
  const width = drawingWidth(270, 640);
  const x = (/** @type {number} */ value) => left + value * (width - left - right);
  return frame(width, 'Percent right against how sure; on the dashed line, sure and right go together. The table below has every figure.', [
    s('line', {x1: x(0), y1: y(0), x2: x(1), y2: y(1), class: 'even'}),
    bins.filter(bin => bin.n > 0).map(bin => s('circle', {cx: x((bin.from + bin.to) / 2), cy: y(bin.right / bin.n),
      r: Math.min(14, 4 + Math.sqrt(bin.n)), class: 'dot'})),
    [0, 0.5, 1].map(value => s('text', {x: x(value), y: height - 12, 'text-anchor': value === 1 ? 'end' : value === 0 ? 'start' : 'middle'},
      `${value * 100}${value === 1 ? '% sure' : ''}`))]);
}

/** Limits that reach farther are cut at the edge, for they would press everybody else together; a dot never is. */
const farthest = 12;

/**
 * One line a rater: mean signed error in points of the total, with its limits. Nothing when nobody has one.
 * @param {{rater: string, points: number | null, lower: number | null, upper: number | null}[]} raters
 * @param {number | null} [margin]  points either way that are close enough: a band
 */
export function severity(raters, margin = null) {
  const drawn = /** @type {{rater: string, points: number, lower: number | null, upper: number | null}[]} */ (raters.filter(one => one.points !== null));
  if (!drawn.length) return null;
  const across = drawingWidth(280, 700);
  const from = Math.min(150, across * 0.36), row = 26, above = 10, below = above + drawn.length * row;
  const reach = Math.max(margin ?? 2, 2, ...drawn.flatMap(one => [Math.abs(one.points), Math.min(farthest, Math.abs(one.lower ?? 0)), Math.min(farthest, Math.abs(one.upper ?? 0))]));
  const x = (/** @type {number} */ points) => from + (Math.max(-reach, Math.min(reach, points)) + reach) / (2 * reach) * (across - from - 14);
  const beyond = margin === null ? [] : drawn.filter(one => (one.lower ?? -reach) > margin || (one.upper ?? reach) < -margin).map(one => one.rater);
  const end = Math.floor(reach);
  const ticks = margin === null || across < 420 || end <= margin ? [-end, 0, end] : [-end, -margin, 0, margin, end];
  return s('svg', {viewBox: `0 0 ${across} ${below + 30}`, class: 'chart dots', role: 'img',
    'aria-label': `Mean signed error of ${count(drawn.length, 'rater')} in points of the total. ${margin === null ? ''
      : beyond.length ? `Wholly beyond ${margin} points: ${beyond.join(', ')}. ` : `None lies wholly beyond ${margin} points. `}The table has every figure.`},
  margin === null ? null : s('rect', {x: x(-margin), y: above - 6, width: x(margin) - x(-margin), height: drawn.length * row + 8, class: 'margin'}),
  s('line', {x1: x(0), x2: x(0), y1: above - 6, y2: below + 2, class: 'axis'}),
  ticks.map(tick => s('text', {x: x(tick), y: below + 22, 'text-anchor': 'middle'}, signed(tick, 0))),
  drawn.map((one, i) => {
    const at = above + (i + 0.5) * row;
    return [s('text', {x: from - 10, y: at + 5, 'text-anchor': 'end'}, one.rater.length > 16 ? `${one.rater.slice(0, 15)}\u2026` : one.rater),
      one.lower !== null && one.upper !== null ? s('line', {x1: x(one.lower), x2: x(one.upper), y1: at, y2: at, class: 'limits'}) : null,
      s('circle', {cx: x(one.points), cy: at, r: 5, class: 'dot'})];
  }));
}
