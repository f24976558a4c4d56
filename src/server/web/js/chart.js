// @ts-check
// Two small pictures, each with its table beside it: the learning curve, and how sure goes with right.

import { s } from './dom.js';

/** Drawn for the width there is, so that its words stay as large as the page's. */
const width = Math.min(640, Math.max(270, document.documentElement.clientWidth - 36));
const height = 260, left = 46, right = 10, top = 12, bottom = 34;

/** @param {number} value */
const y = value => top + (1 - value) * (height - top - bottom);

/** @param {string} label @param {any[]} inside */
function frame(label, inside) {
  return s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'chart', role: 'img', 'aria-label': label},
    [0, 0.25, 0.5, 0.75, 1].map(value => [
      s('line', {x1: left, x2: width - right, y1: y(value), y2: y(value), class: value === 0 ? 'axis' : 'grid'}),
      s('text', {x: left - 8, y: y(value) + 5, 'text-anchor': 'end'}, `${value * 100}`)]),
    inside);
}

/** Share of items scored as the key, sitting by sitting, with limits. @param {{share: number, lower: number, upper: number}[]} points */
export function learningCurve(points) {
  const x = (/** @type {number} */ i) => points.length === 1 ? (left + width - right) / 2
    : left + 20 + i * (width - left - right - 40) / (points.length - 1);
  const last = points[points.length - 1];
  return frame(`Percent of items scored as the key in ${points.length} sittings, from ${Math.round(points[0].share * 100)} in the first to ${
    Math.round(last.share * 100)} in the last; the table below has every figure.`, [
    points.map((p, i) => s('line', {x1: x(i), x2: x(i), y1: y(p.lower), y2: y(p.upper), class: 'limits'})),
    points.length > 1 ? s('polyline', {points: points.map((p, i) => `${x(i).toFixed(1)},${y(p.share).toFixed(1)}`).join(' '), class: 'curve'}) : null,
    points.map((p, i) => s('circle', {cx: x(i), cy: y(p.share), r: 5, class: 'dot'})),
    points.map((_, i) => points.length < 16 || i % 5 === 4
      ? s('text', {x: x(i), y: height - 12, 'text-anchor': 'middle'}, String(i + 1)) : null)]);
}

/** How often right, by how sure. @param {{from: number, to: number, n: number, right: number}[]} bins */
export function sureness(bins) {
  const x = (/** @type {number} */ value) => left + value * (width - left - right);
  return frame('Percent right against how sure; on the dashed line, sure and right go together. The table below has every figure.', [
    s('line', {x1: x(0), y1: y(0), x2: x(1), y2: y(1), class: 'even'}),
    bins.filter(bin => bin.n > 0).map(bin => s('circle', {cx: x((bin.from + bin.to) / 2), cy: y(bin.right / bin.n),
      r: Math.min(14, 4 + Math.sqrt(bin.n)), class: 'dot'})),
    [0, 0.5, 1].map(value => s('text', {x: x(value), y: height - 12, 'text-anchor': value === 1 ? 'end' : value === 0 ? 'start' : 'middle'},
      `${value * 100}${value === 1 ? '% sure' : ''}`))]);
}
