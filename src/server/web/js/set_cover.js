// @ts-check
// What a set exercises: item by level, near which limits, under which rulings, and whether the standard's blueprint
// is met. Said in a sentence first; the table has every count.

import { h, table, count, percent } from './dom.js';

/** What the set amounts to, in a sentence. @param {any} cover */
export function summary(cover) {
  if (!cover.scores) return 'No case is chosen yet.';
  const left = cover.left_out.map((/** @type {any} */ one) => `${one.scores} because ${one.why}`);
  return `${count(cover.cases, 'case')}, ${count(cover.scores, 'score')}: ${cover.decides} decide about a rater${
    left.length ? `, ${left.join(', ')}` : ''}.`;
}

/** @param {any} level @param {string} item */
function cell(level, item) {
  const marks = [];
  if (level.borderline) marks.push(`${level.borderline} near a limit`);
  if (level.gray) marks.push(`${level.gray} by a ruling`);
  const shade = Math.min(3, Math.ceil(level.keys / 2));
  return h('td', {class: level.keys ? `cover cover${shade}` : 'cover none'},
    level.keys ? String(level.keys) : h('span', {'aria-hidden': 'true'}, '\u00b7'),
    h('span', {class: 'unseen'}, level.keys ? ` of item ${item} at level ${level.level}${marks.length ? `, ${marks.join(', ')}` : ''}` : 'none'),
    level.borderline ? h('span', {class: 'tick-mark', 'aria-hidden': 'true'}, '\u2248') : null,
    level.gray ? h('span', {class: 'tick-mark', 'aria-hidden': 'true'}, '\u00a7') : null);
}

/** @param {any} item */
function limits(item) {
  const of = item.thresholds, all = of.both_sides + of.one_side + of.not_at_all;
  return all ? `${of.both_sides} of ${all}` : '\u2013';
}

/** @param {any} cover */
function grid(cover) {
  /** @type {string[]} */
  const levels = [];
  for (const item of cover.items) for (const level of item.levels) if (!levels.includes(level.level)) levels.push(level.level);
  const caption = 'Case-items by item and level of the key';
  return h('div', {class: 'scroll', tabindex: '0', role: 'region', 'aria-label': caption},
    h('table', {class: 'cover-grid'}, h('caption', {}, caption),
      h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Item'), levels.map(level => h('th', {scope: 'col'}, h('span', {class: 'unseen'}, 'Level '), level)),
        h('th', {scope: 'col', class: 'number'}, 'Limits met from both sides'))),
      h('tbody', {}, cover.items.map((/** @type {any} */ item) => h('tr', {},
        h('th', {scope: 'row'}, h('b', {}, item.item), ` ${item.name}`),
        levels.map(level => {
          const found = item.levels.find((/** @type {any} */ one) => one.level === level);
          return found ? cell(found, item.item) : h('td', {}, '');
        }),
        h('td', {class: 'number'}, limits(item)))))));
}

/** @param {any} cover */
function blueprint(cover) {
  const of = cover.blueprint;
  if (of.met === null) return h('p', {class: 'hint'}, `The blueprint of "${cover.standard}" is not asked: ${of.why}.`);
  return [h('p', {}, h('b', {}, of.met ? 'It meets the blueprint' : 'It does not meet the blueprint'), ` of the standard "${cover.standard}".`),
    of.says.length ? h('ul', {}, of.says.map((/** @type {string} */ one) => h('li', {}, one))) : null,
    table('Levels among the keys that count', ['Level', 'Keys', 'Share', 'Against the blueprint'], of.levels.map((/** @type {any} */ one) => [one.level, one.keys, percent(one.share),
      one.too_few ? 'too few' : one.too_many ? 'too many' : 'as wanted']), ['', 'number', 'number', ''])];
}

/** @param {any} seen */
function whoHasSeen(seen) {
  const groups = seen.groups.filter((/** @type {any} */ one) => one.members);
  if (!groups.length) return h('p', {}, 'You have no group with members, so nobody is known to have met these cases.');
  return [h('ul', {}, groups.map((/** @type {any} */ one) => h('li', {}, one.seen
    ? `${one.group}: ${one.seen} of ${count(one.members, 'rater')} ${one.seen === 1 ? 'has' : 'have'} scored one or more of these cases before.`
    : `${one.group}: nobody of ${count(one.members, 'rater')} has scored any of these cases.`))),
  h('p', {class: 'hint'}, 'Known from answers and imported scores. A case that was opened and left, or seen on a page for learning an item, is not known.')];
}

/** The strip. @param {any} found  what the site answered: cover, cautions, seen @param {string} mode */
export function coverStrip(found, mode) {
  const {cover} = found;
  return [h('p', {class: 'says', role: 'status'}, summary(cover)),
    found.cautions.length ? h('div', {class: 'notice'}, found.cautions.map((/** @type {string} */ one) => h('p', {}, one))) : null,
    cover.scores ? [grid(cover),
      h('p', {class: 'hint'}, 'A dot: no case shows this level of the item. \u2248 some lie within the error of watch or ruler of a limit. \u00a7 a ruling settled some, since the criteria leave them open. Neither kind decides about anybody.'),
      h('h3', {}, 'For a decision'), cover.looks.map((/** @type {string} */ one) => h('p', {}, one)),
      h('p', {}, `${cover.half_cases} of its ${count(cover.cases, 'case')} ${cover.half_cases === 1 ? 'has' : 'have'} the ${cover.items_per_case} items that the standard reckons with.`),
      blueprint(cover),
      h('h3', {}, 'Who has met its cases'),
      mode === 'practice' ? null : h('p', {}, 'A check is for cases that the rater has not seen.'), whoHasSeen(found.seen)] : null];
}
