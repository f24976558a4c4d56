// @ts-check
// The result of a closed round: the answer first, then the evidence, then the agenda of the meeting.

import { h, s, show, byId, date, percent, shareLimits, fallTogether, told as plain, signed, table, count, records } from './dom.js';
import { get, part, words } from './api.js';
import { departmentNav } from './department_nav.js';
import { severity } from './chart.js';
import { fileButtons } from './files.js';
import { roundWords } from './round_words.js';
import { role } from './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[3] ?? '');
const content = byId('content');

/** @typedef {{estimate: number | null, lower?: number | null, upper?: number | null, undefined?: string, form?: string}} Estimate */

/** @param {number} digits */
const decimals = digits => (/** @type {number} */ value) => (value < 0 ? signed(value, digits) : value.toFixed(digits));
/** @param {number} digits */
const signs = digits => (/** @type {number} */ value) => signed(value, digits);

/** Titles of rounds by their ids. @type {Map<string, string>} */
const titles = new Map();
/** Ids of rounds, as the site makes them. */
const ids = /\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b/g;

/** A sentence of the report as this page writes: rounds by title, percent without a space. @param {unknown} text */
const told = text => plain(text).replace(ids, one => titles.has(one) ? `"${titles.get(one)}"` : 'an earlier round');

/** @param {Estimate} of */
const reasonOf = of => told(of.undefined ?? 'not known');

/** With its limits; a reason where there is no number. @param {Estimate} of @param {(value: number) => string} written */
function withLimits(of, written) {
  if (of.estimate === null) return reasonOf(of);
  if (of.lower === null || of.lower === undefined || of.upper === null || of.upper === undefined) return written(of.estimate);
  return `${written(of.estimate)} (${fallTogether(of.lower, of.upper) ? 'no spread' : `${written(of.lower)} to ${written(of.upper)}`})`;
}

/** The same of a share. @param {Estimate} of */
function shareWithLimits(of) {
  if (of.estimate === null) return reasonOf(of);
  const limits = shareLimits(of.lower, of.upper);
  return percent(of.estimate) + (limits ? ` (${limits})` : '');
}

/** For a narrow column: what stands in brackets is not torn. @param {string} text */
function cell(text) {
  const at = text.indexOf(' (');
  return at < 0 ? text : [text.slice(0, at + 1), h('span', {class: 'keep'}, text.slice(at + 1))];
}

/** @param {string} term @param {Estimate} of @param {(value: number) => string} written @param {string} limits @param {string} more */
const figure = (term, of, written, limits, more) => h('div', {}, h('dt', {}, term), h('dd', {}, of.estimate === null ? '\u2013' : written(of.estimate),
  h('small', {}, of.estimate === null ? reasonOf(of) : limits ? `${limits}; ${more}` : more)));

/** @param {Estimate} of @param {(value: number) => string} written */
const between = (of, written) => of.lower !== null && of.lower !== undefined && of.upper !== null && of.upper !== undefined
  ? `between ${written(of.lower)} and ${written(of.upper)}` : '';

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

/** @param {any} zone @param {string} instrument */
function zoneCard(zone, instrument) {
  return h('section', {class: zone.needs_ruling ? 'card go' : 'card', 'aria-label': `Item ${zone.item}: ${zone.zone}`},
    h('h4', {}, `Item ${zone.item}`, zone.needs_ruling ? h('span', {class: 'tag'}, 'needs a ruling') : null),
    h('p', {}, `${zone.zone}.`),
    h('p', {class: 'hint'}, zone.ruling ? `In force: ${zone.ruling}.` : 'No ruling.', ` Met in ${zone.cases.join(', ')}; ${count(zone.scores, 'score')}.`),
    h('div', {}, distribution(Object.entries(zone.given).filter(([, n]) => n !== 0).map(([level, n]) => ({level, raters: n}))),
    criteriaList(zone.criteria),
    zone.needs_ruling && role === 'lead' ? h('p', {}, h('a', {class: 'button quiet no-print', href: `/department/rulings${instrument ? `?instrument=${part(instrument)}` : ''}#item-${part(zone.item)}`}, 'Record a ruling', h('span', {class: 'unseen'}, ` for item ${zone.item}`))) : null));
}

/** @param {any} result */
function since(result) {
  const of = result.since_last;
  if (!of) return h('p', {}, 'This is the first round: there is nothing to set it beside.');
  return [h('ul', {},
    h('li', {}, `${count(of.common_raters, 'rater')} and ${count(of.common_cases, 'case')} in common with the round before${titles.has(of.round) ? `, "${titles.get(of.round)}"` : ''}.`),
    h('li', {}, `Scores equal to the key: ${withLimits(of.exact, value => signed(value * 100, 0))}${of.exact.estimate === null ? '' : ' percentage points'}.`),
    h('li', {}, `The group's own shift against the key: ${withLimits(of.group_shift, signs(2))}${of.group_shift.estimate === null ? '' : ' points of the total'}. Who drifts with everybody shows here only.`),
    h('li', {}, `${of.drift_flagged} of ${count(of.drift_raters, 'rater')} changed against the peers on the same cases (Holm over the round).`)),
  of.keys?.length ? table('Keys of common cases that changed', ['Case', 'Item', 'Before', 'Now'],
    of.keys.map((/** @type {any} */ one) => [one.case, one.item, one.before || 'none', one.after || 'none'])) : null];
}

/** The answer with what is plainest first: how many points of the total two raters differ by. @param {any} result */
function answer(result) {
  const all = /** @type {string[]} */ (result.answer);
  const plain = (result.group.mdc95?.estimate ?? null) !== null ? String(result.group.mdc95_says) : all.find(one => /\d.* points/.test(one)) ?? all[0];
  return [plain, ...all.filter(one => one !== plain)].map(told);
}

/** @param {any} result @param {import('./types').Round} round @param {string} instrument */
function page(result, round, instrument) {
  const {group, agenda} = result;
  const points = result.raters ?? [];
  const drawing = severity(points.map((/** @type {any} */ one) => ({rater: one.rater, points: one.against_key.estimate, lower: one.against_key.lower ?? null, upper: one.against_key.upper ?? null})));
  const [first, ...rest] = answer(result);
  return [departmentNav(),
    h('p', {class: 'lead'}, first),
    rest.map(sentence => h('p', {}, sentence)),
    h('p', {class: 'hint'}, `${round.set_title ?? round.set}, closed ${date(round.closed)}.`),
    round.demonstration ? h('p', {class: 'notice'}, 'A demonstration set: its cases had no second readers. This is no evidence about anybody.') : null,
    h('p', {class: 'hint'}, round.locked ? 'Locked: worked out by the keys and rulings that were in force then.' : 'Not locked: imports may still change it, and so do rulings.'),
    fileButtons('Report', `/api/rounds/${part(id)}/report`), fileButtons('Agenda of the meeting', `/api/rounds/${part(id)}/report?kind=agenda`, ['pdf', 'html']),
    h('p', {class: 'hint no-print'}, 'The report has a place for what only you can say: ', h('a', {href: '#own-words'}, 'write it at the end of this page'), '.'),
    h('p', {class: 'actions'},
      h('button', {type: 'button', class: 'quiet', onclick: () => print()}, 'Print')),
    h('h2', {}, 'How far you agree'),
    h('dl', {class: 'figures'},
      figure('Equal to the key', group.exact, percent, shareLimits(group.exact.lower, group.exact.upper), `n = ${group.scores}`),
      figure('Weighted kappa with the key', group.weighted_kappa, decimals(2), between(group.weighted_kappa, decimals(2)), `mean over ${count(group.weighted_kappa.items, 'item')}`),
      figure('Agreement of a single rater', group.icc, decimals(2), between(group.icc, decimals(2)), 'on the total'),
      figure('Standard error of measurement', group.sem, decimals(1), between(group.sem, decimals(1)), 'points of the total'),
      figure('Group against the key', group.shift, signs(1), between(group.shift, signs(1)), 'points; above 0 is too generous')),
    h('p', {class: 'hint'}, `${group.icc.form}. Kappa: ${group.weighted_kappa.form}.`),
    h('ul', {}, group.cautions.map((/** @type {string} */ one) => h('li', {}, told(one)))),
    h('h2', {}, 'Item by item'),
    records('Disagreement with the key, item by item', ['Item', 'Equal to the key', 'Mean signed, levels', 'Missed', 'Remark'],
      result.items.map((/** @type {any} */ one) => [`${one.item} ${one.name ?? ''}`, cell(shareWithLimits(one.exact)),
        cell(withLimits(one.mean_signed, signs(2))), `${one.missed} of ${one.counted}`, one.misread ? 'looks misread' : one.stands_out ? 'missed more than others' : '']),
      ['', 'number', 'number', 'number', '']),
    h('h2', {}, 'Raters'), drawing ? h('figure', {class: 'strip-box'},
      h('figcaption', {}, 'Points of the total above or below the key, with 95% limits; to the right is too generous'), drawing) : null,
    points.length ? records('Rater by rater', ['Rater', 'Equal to the key', 'Against the key, points', 'Against the peers, points', 'Since the last round', 'To talk about'],
      points.map((/** @type {any} */ one) => [one.rater, cell(shareWithLimits(one.exact)), cell(withLimits(one.against_key, signs(1))),
        [cell(withLimits(one.against_peers, signs(1))), one.funnel.outside_outer ? ' outside the funnel' : null],
        one.drift ? cell(withLimits(one.drift, signs(1))) : '', one.talk.map((/** @type {any} */ each) => told(each.says)).join('; ')]),
      ['', 'number', 'number', 'number', 'number', '']) : h('p', {}, told(result.left_out ?? 'No rater.')),
    h('h2', {}, 'Since the last round'), since(result),
    result.rounds.length > 1 ? records('Round by round', ['Round', 'Raters', 'Cases', 'Equal to the key', 'Shift, points', 'Linked by'],
      result.rounds.map((/** @type {any} */ one) => [titles.get(one.round) ?? told(one.round), one.raters, one.cases,
        cell(shareWithLimits(one.exact)), cell(withLimits(one.shift, signs(1))), told(one.linkage)]), ['', 'number', 'number', 'number', 'number', '']) : null,
    h('h2', {}, 'Agenda'),
    agenda.left_out ? h('p', {}, told(agenda.left_out)) : [
      h('p', {}, `${agenda.all_agree} of ${count(agenda.case_items, 'item of a case', 'items of cases')} were given one and the same level by all.${agenda.points.length ? ' Where you differ most:' : ''}`),
      agenda.points.length ? h('div', {class: 'cards'}, agenda.points.map((/** @type {any} */ one) => pointCard(one, result.items))) : null,
      agenda.zones.length ? [h('h3', {}, 'Gray zones that you met'), h('div', {class: 'cards'}, agenda.zones.map((/** @type {any} */ one) => zoneCard(one, instrument)))] : null],
    result.suspect_keys?.length ? [h('h2', {}, 'Keys worth a second look'),
      h('details', {class: 'fold'}, h('summary', {}, count(result.suspect_keys.length, 'key')),
        table('Keys that good raters contradict', ['Case', 'Item', 'What they say'], result.suspect_keys.map((/** @type {any} */ one) => [one.case, one.item, told(one.says)])))] : null,
    h('h2', {}, 'How it was computed'),
    h('ul', {}, (Array.isArray(result.methods) ? result.methods : []).map((/** @type {any} */ one) => h('li', {}, told(typeof one === 'string' ? one : Object.values(one).join(': '))))),
    h('ul', {}, result.cautions.map((/** @type {string} */ one) => h('li', {}, told(one)))),
    h('p', {class: 'hint'}, `${result.provenance.program}. Fingerprint of the scores: ${result.provenance.scores_fingerprint.slice(0, 16)}, of criteria and rulings: ${result.provenance.instrument_fingerprint.slice(0, 16)}.`)];
}

async function start() {
  // Words may be written while the round is still open, and there is no result.
  const own = roundWords(id).catch(() => null);
  try {
    const [round, all, sets] = await Promise.all([get(`/api/rounds/${part(id)}`), get('/api/rounds'), get('/api/sets').catch(() => [])]);
    for (const one of all) titles.set(one.id, one.title);
    byId('title').textContent = round.title;
    document.title = `${round.title} - evenhand`;
    const instrument = sets.find((/** @type {any} */ one) => one.id === round.set)?.instrument ?? '';
    show(content, ...page(await get(`/api/rounds/${part(id)}/result`), round, instrument), await own);
  } catch (error) {
    show(content, departmentNav(), h('p', {class: 'notice'}, told(words(error))), h('p', {}, h('a', {href: '/department'}, 'To the rounds')), await own);
  }
}

start();
