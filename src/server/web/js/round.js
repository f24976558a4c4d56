// @ts-check
// The result of a closed round: the answer first, then the evidence, then the agenda of the meeting.

import { h, s, show, byId, date, percent, signed, table, count, records } from './dom.js';
import { get, part } from './api.js';
import { departmentNav, saying } from './department_nav.js';
import './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[3] ?? '');
const content = byId('content');

/** @typedef {{estimate: number | null, lower?: number | null, upper?: number | null, undefined?: string, form?: string}} Estimate */

/** @param {number} digits */
const decimals = digits => (/** @type {number} */ value) => value.toFixed(digits);
/** @param {number} digits */
const signs = digits => (/** @type {number} */ value) => signed(value, digits);

/** With its limits; a reason where there is no number. @param {Estimate} of @param {(value: number) => string} words */
function withLimits(of, words) {
  if (of.estimate === null) return of.undefined ?? 'not known';
  const limits = of.lower !== null && of.lower !== undefined && of.upper !== null && of.upper !== undefined
    ? ` (${words(of.lower)} to ${words(of.upper)})` : '';
  return words(of.estimate) + limits;
}

/** @param {string} term @param {Estimate} of @param {(value: number) => string} words @param {string} more */
const figure = (term, of, words, more) => h('div', {}, h('dt', {}, term), h('dd', {}, of.estimate === null ? '-' : words(of.estimate),
  h('small', {}, of.estimate === null ? of.undefined ?? 'not known'
    : of.lower !== null && of.lower !== undefined ? `between ${words(of.lower)} and ${words(Number(of.upper))}; ${more}` : more)));

/** Severity, rater by rater: dots with intervals about zero. @param {any[]} raters */
function severity(raters) {
  const known = raters.filter(one => one.against_key.estimate !== null);
  if (!known.length) return null;
  const width = Math.min(640, Math.max(270, document.documentElement.clientWidth - 36)), row = 24, left = 120, top = 10;
  const reach = Math.max(2, ...known.flatMap(one => [one.against_key.estimate, one.against_key.lower, one.against_key.upper]
    .filter(value => value !== null).map(Math.abs)));
  const x = (/** @type {number} */ value) => left + (value + reach) / (2 * reach) * (width - left - 14);
  const bottom = top + known.length * row;
  return h('figure', {class: 'strip-box'},
    h('figcaption', {}, 'Points of the total above or below the key, with 95% limits; to the right is too generous'),
    s('svg', {viewBox: `0 0 ${width} ${bottom + 26}`, class: 'chart', role: 'img',
      'aria-label': `Severity of ${count(known.length, 'rater')}; the table of raters has every figure.`},
    s('line', {x1: x(0), x2: x(0), y1: top, y2: bottom, class: 'axis'}),
    known.map((one, i) => {
      const y = top + i * row + row / 2, {estimate, lower, upper} = one.against_key;
      return [s('text', {x: 0, y: y + 5}, one.rater.length > 14 ? `${one.rater.slice(0, 13)}\u2026` : one.rater),
        lower !== null && upper !== null ? s('line', {x1: x(lower), x2: x(upper), y1: y, y2: y, class: 'limits'}) : null,
        s('circle', {cx: x(estimate), cy: y, r: 5, class: 'dot'})];
    }),
    [-reach, 0, reach].map(value => s('text', {x: x(value), y: bottom + 20, 'text-anchor': value > 0 ? 'end' : value < 0 ? 'start' : 'middle'},
      signed(value, value === 0 ? 0 : 1)))));
}

/** How many gave each level, as bars of text that read on paper too. @param {any[]} given */
function distribution(given) {
  const most = Math.max(1, ...given.map(one => one.raters ?? 0));
  return h('ul', {class: 'distribution'}, given.map(one => h('li', {},
    h('b', {}, one.level), s('svg', {viewBox: '0 0 100 12', class: 'bar', 'aria-hidden': 'true'},
      s('rect', {x: 0, y: 1, width: 100 * (one.raters ?? 0) / most, height: 10, class: 'dot'})),
    h('span', {}, one.raters === null ? 'few' : count(one.raters, 'rater'), one.who?.length ? h('small', {class: 'hint'}, ` ${one.who.join(', ')}`) : null))));
}

/** @param {any[]} criteria */
const criteriaList = criteria => criteria.length
  ? [h('p', {}, criteria.length === 1 ? 'The criterion there:' : 'The criteria that meet there:'),
    h('ul', {}, criteria.map(one => h('li', {}, h('b', {}, `${one.level} `), one.says)))] : null;

/** @param {any} point @param {any[]} items */
function pointCard(point, items) {
  const name = items.find(one => one.item === point.item)?.name;
  return h('section', {class: 'card', 'aria-label': `Case ${point.case}, item ${point.item}`},
    h('h3', {}, `Case ${point.case}, item ${point.item}`, name ? h('span', {class: 'hint'}, ` ${name}`) : null),
    h('p', {}, `Key: ${point.key ?? 'none'}. `, point.exact === null ? '' : `${percent(point.exact)} at the key, n = ${point.raters}.`),
    h('div', {}, distribution(point.given), point.key_rests_on ? [h('p', {class: 'hint'}, `The key: ${point.key_rests_on.says}. `, point.key_rests_on.reason),
      criteriaList(point.key_rests_on.criteria)] : null));
}

/** @param {any} zone */
function zoneCard(zone) {
  return h('section', {class: zone.needs_ruling ? 'card go' : 'card', 'aria-label': `Item ${zone.item}: ${zone.zone}`},
    h('h3', {}, `Item ${zone.item}`, zone.needs_ruling ? h('span', {class: 'tag'}, 'needs a ruling') : null),
    h('p', {}, `${zone.zone}.`),
    h('p', {class: 'hint'}, zone.ruling ? `In force: ${zone.ruling}.` : 'No ruling.', ` Met in ${zone.cases.join(', ')}; ${count(zone.scores, 'score')}.`),
    h('div', {}, distribution(Object.entries(zone.given).filter(([, n]) => n !== 0).map(([level, n]) => ({level, raters: n}))),
    criteriaList(zone.criteria),
    zone.needs_ruling ? h('p', {}, h('a', {class: 'button quiet', href: '/department/rulings'}, 'Record a ruling', h('span', {class: 'unseen'}, ` for item ${zone.item}`))) : null));
}

/** @param {any} result */
function since(result) {
  const of = result.since_last;
  if (!of) return h('p', {}, 'This is the first round: there is nothing to set it beside.');
  return [h('ul', {},
    h('li', {}, `${count(of.common_raters, 'rater')} and ${count(of.common_cases, 'case')} in common with the round before.`),
    h('li', {}, `Scores equal to the key: ${withLimits(of.exact, value => signed(value * 100, 0) + ' points of percent')}.`),
    h('li', {}, `The group's own shift against the key: ${withLimits(of.group_shift, signs(2))} points of the total. Who drifts with everybody shows here only.`),
    h('li', {}, `${of.drift_flagged} of ${count(of.drift_raters, 'rater')} changed against the peers on the same cases (Holm over the round).`)),
  of.keys?.length ? table('Keys of common cases that changed', ['Case', 'Item', 'Before', 'Now'],
    of.keys.map((/** @type {any} */ one) => [one.case, one.item, one.before || 'none', one.after || 'none'])) : null];
}

/** @param {any} result @param {import('./types').Round} round */
function page(result, round) {
  const {group, agenda} = result;
  const points = result.raters ?? [];
  return [departmentNav(),
    h('p', {class: 'lead'}, `${round.set_title ?? round.set}, closed ${date(round.closed)}. `, result.answer[0]),
    result.answer.slice(1).map((/** @type {string} */ sentence) => h('p', {}, sentence)),
    round.demonstration ? h('p', {class: 'notice'}, 'A demonstration set: its cases had no second readers. This is no evidence about anybody.') : null,
    round.locked ? null : h('p', {class: 'hint'}, 'Not locked: imports may still change it.'),
    h('p', {class: 'actions'}, h('a', {class: 'button quiet', href: `/api/rounds/${part(id)}/result`, download: `calibration-${part(round.title)}.json`}, 'Download as JSON'),
      h('button', {type: 'button', class: 'quiet', onclick: () => print()}, 'Print')),
    h('h2', {}, 'How far you agree'),
    h('dl', {class: 'figures'},
      figure('Equal to the key', group.exact, value => percent(value), `n = ${group.scores}`),
      figure('Weighted kappa with the key', group.weighted_kappa, decimals(2), `mean over ${count(group.weighted_kappa.items, 'item')}`),
      figure('Agreement of a single rater', group.icc, decimals(2), 'on the total'),
      figure('Standard error of measurement', group.sem, decimals(1), 'points of the total'),
      figure('Group against the key', group.shift, signs(1), 'points; above 0 is too generous')),
    h('p', {class: 'hint'}, `${group.icc.form}. Kappa: ${group.weighted_kappa.form}.`),
    h('ul', {}, group.cautions.map((/** @type {string} */ one) => h('li', {}, one))),
    h('h2', {}, 'Item by item'),
    records('Disagreement with the key, item by item', ['Item', 'Equal to the key', 'Mean signed, levels', 'Missed', 'Remark'],
      result.items.map((/** @type {any} */ one) => [`${one.item} ${one.name ?? ''}`, withLimits(one.exact, value => percent(value)),
        withLimits(one.mean_signed, signs(2)), `${one.missed} of ${one.counted}`, one.misread ? 'looks misread' : one.stands_out ? 'missed more than others' : '']),
      ['', 'number', 'number', 'number', '']),
    h('h2', {}, 'Raters'), severity(points),
    points.length ? records('Rater by rater', ['Rater', 'Equal to the key', 'Against the key, points', 'Against the peers, points', 'Since the last round', 'To talk about'],
      points.map((/** @type {any} */ one) => [one.rater, withLimits(one.exact, value => percent(value)), withLimits(one.against_key, signs(1)),
        withLimits(one.against_peers, signs(1)) + (one.funnel.outside_outer ? ', outside the funnel' : ''),
        one.drift ? withLimits(one.drift, signs(1)) : '-', one.talk.map((/** @type {any} */ each) => each.says).join(' ')]),
      ['', 'number', 'number', 'number', 'number', '']) : h('p', {}, String(result.left_out ?? 'No rater.')),
    h('h2', {}, 'Since the last round'), since(result),
    result.rounds.length > 1 ? records('Round by round', ['Round', 'Raters', 'Cases', 'Equal to the key', 'Shift, points', 'Linked by'],
      result.rounds.map((/** @type {any} */ one, /** @type {number} */ i) => [String(i + 1), one.raters, one.cases,
        withLimits(one.exact, value => percent(value)), withLimits(one.shift, signs(1)), one.linkage || '-']), ['', 'number', 'number', 'number', 'number', '']) : null,
    h('h2', {}, 'Agenda'),
    agenda.left_out ? h('p', {}, agenda.left_out) : [
      h('p', {}, `${agenda.all_agree} of ${count(agenda.case_items, 'item of a case', 'items of cases')} were given one and the same level by all. Where you differ most:`),
      h('div', {class: 'cards'}, agenda.points.map((/** @type {any} */ one) => pointCard(one, result.items))),
      agenda.zones.length ? [h('h3', {}, 'Gray zones that you met'), h('div', {class: 'cards'}, agenda.zones.map(zoneCard))] : null],
    result.suspect_keys?.length ? [h('h2', {}, 'Keys worth a second look'),
      h('details', {class: 'fold'}, h('summary', {}, count(result.suspect_keys.length, 'key')),
        table('Keys that good raters contradict', ['Case', 'Item', 'What they say'], result.suspect_keys.map((/** @type {any} */ one) => [one.case, one.item, one.says])))] : null,
    h('h2', {}, 'How it was computed'),
    h('ul', {}, (Array.isArray(result.methods) ? result.methods : []).map((/** @type {any} */ one) => h('li', {}, typeof one === 'string' ? one : Object.values(one).join(': ')))),
    h('ul', {}, result.cautions.map((/** @type {string} */ one) => h('li', {}, one))),
    h('p', {class: 'hint'}, `${result.provenance.program}. Fingerprint of the scores: ${result.provenance.scores_fingerprint.slice(0, 16)}, of criteria and rulings: ${result.provenance.instrument_fingerprint.slice(0, 16)}.`)];
}

async function start() {
  try {
    const round = /** @type {import('./types').Round} */ (await get(`/api/rounds/${part(id)}`));
    byId('title').textContent = round.title;
    document.title = `${round.title} - evenhand`;
    show(content, ...page(await get(`/api/rounds/${part(id)}/result`), round));
  } catch (error) {
    show(content, departmentNav(), h('p', {class: 'notice'}, saying(error)), h('p', {}, h('a', {href: '/department'}, 'To the rounds')));
  }
}

start();
