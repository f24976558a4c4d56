// @ts-check
// A timed trial on one line: its moments, the stretch that was to be timed, and the rater's own watch. The same
// stands below it as a table.

import { h, s, drawingWidth, table } from './dom.js';
import { momentWords } from './moment_words.js';

/** @typedef {import('./types').Feedback} Feedback */
/** @typedef {import('./types').Trial} Trial */
/** @typedef {import('./types').Reading} Reading */

const left = 4, right = 4;

/**
 * @param {string} title  "Trial 2"
 * @param {Trial} trial
 * @param {{from: number, to: number, words: string}[]} stretches  what was to be timed
 * @param {Reading[]} readings  the rater's own
 */
export function strip(title, trial, stretches, readings) {
  const width = drawingWidth(270, 600);
  const timeline = trial.timeline ?? [];
  const end = Math.max(trial.end ?? 0, timeline.at(-1)?.at ?? 0, ...readings.map(r => r.stop), ...stretches.map(t => t.to), 1);
  const x = (/** @type {number} */ t) => left + t / end * (width - left - right);
  const step = [1, 2, 5, 10, 20, 60, 120].find(n => end / n <= width / 65) ?? 120;
  const ticks = [];
  for (let t = 0; t <= end; t += step) ticks.push(t);
  const rows = stretches.length + readings.length;
  const height = 44 + rows * 36;
  const bar = (/** @type {number} */ row, /** @type {number} */ from, /** @type {number} */ to, /** @type {string} */ cls,
    /** @type {string} */ words) => {
    const y = 8 + row * 36;
    const middle = x((from + to) / 2) < width / 2 ? 'start' : 'end';
    return [s('rect', {x: x(from), y, width: Math.max(2, x(to) - x(from)), height: 10, rx: 2, class: cls}),
      s('text', {x: middle === 'start' ? x(from) : x(to), y: y + 23, 'text-anchor': middle, class: 'strip-words'}, words)];
  };
  const axis = 14 + rows * 36;
  const drawing = s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'strip', role: 'img',
    'aria-label': `${title}: ${[...stretches.map(t => `to be timed from ${t.from.toFixed(1)} to ${t.to.toFixed(1)} s`),
      ...readings.map(r => `your watch ran from ${r.start.toFixed(2)} to ${r.stop.toFixed(2)} s`)].join('; ')}. The table below says the same.`},
    stretches.map((t, i) => bar(i, t.from, t.to, 'strip-true', `${t.words}: ${(t.to - t.from).toFixed(1)} s`)),
    readings.map((r, i) => bar(stretches.length + i, r.start, r.stop, 'strip-yours', `your watch: ${r.seconds.toFixed(2)} s`)),
    s('line', {x1: left, x2: width - right, y1: axis, y2: axis, class: 'strip-axis'}),
    timeline.map(moment => s('line', {x1: x(moment.at), x2: x(moment.at), y1: axis - 6, y2: axis + 6,
      class: moment.events.length ? 'strip-event' : 'strip-moment'})),
    ticks.map(t => s('text', {x: x(t), y: axis + 22, 'text-anchor': t === 0 ? 'start' : 'middle', class: 'strip-words'},
      t + (t === 0 ? ' s' : ''))));
  /** @type {[number, string, string][]} */
  const moments = timeline.map(m => [m.at, momentWords(m), 'moment']);
  for (const t of stretches) {
    moments.push([t.from, `${t.words}: begins`, 'true']);
    moments.push([t.to, `${t.words}: ends`, 'true']);
  }
  for (const r of readings) {
    moments.push([r.start, 'You started the watch', 'yours']);
    moments.push([r.stop, 'You stopped the watch', 'yours']);
  }
  moments.sort((a, b) => a[0] - b[0]);
  return h('figure', {class: 'strip-box'},
    h('figcaption', {}, title), drawing,
    h('details', {class: 'fold'}, h('summary', {}, 'As a table'),
      table(`${title}, moment by moment`, ['At', 'What'], moments.map(([at, what, kind]) => [
        `${kind === 'yours' ? at.toFixed(2) : at.toFixed(1)} s`,
        kind === 'moment' ? what : h('b', {}, what)]))));
}
