// @ts-check
// For instructors: one item of one case in a group. Who gave what, the key and its reason, the criteria that meet.

import { h, show, byId, count } from './dom.js';
import { get, part, words } from './api.js';
import { address, groupPath, mark, raterPath } from './instructor.js';
import './frame.js';

const [, group, , one, item] = address;
const content = byId('content');

/** @param {any} rater */
const link = rater => h('li', {}, h('span', {'aria-hidden': 'true'}, mark(rater.status), ' '), h('a', {href: raterPath(group, rater.rater)}, rater.rater));

/** @param {any} level @param {number} given */
function row(level, given) {
  const share = given ? Math.round(100 * level.raters.length / given) : 0;
  return h('li', {class: level.key ? 'level-given key' : 'level-given'},
    h('div', {class: 'head'}, h('span', {class: 'digit'}, level.score), h('p', {}, level.key ? h('strong', {}, 'The key. ') : null, level.says)),
    h('p', {}, `${count(level.raters.length, 'rater')}${given ? `, ${share}%` : ''}`, ' ', h('progress', {value: level.raters.length, max: Math.max(1, given), 'aria-hidden': 'true'})),
    level.raters.length ? h('details', {class: 'fold'}, h('summary', {}, 'Who', h('span', {class: 'unseen'}, ` gave ${level.score}`)), h('ul', {class: 'names'}, level.raters.map(link))) : null);
}

async function start() {
  let page;
  try {
    do page = await get(`/api/groups/${part(group)}/cases/${part(one)}/${part(item)}`); while (page.pending);
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)), h('p', {}, h('a', {href: groupPath(group)}, 'Back to the group')));
    return;
  }
  const title = `${page.case}, item ${page.item} ${page.name}`;
  byId('title').textContent = title;
  document.title = `${title} - evenhand`;
  show(content, h('p', {class: 'no-print'}, h('a', {href: groupPath(group)}, 'Back to the group')), h('p', {class: 'task'}, page.task),
    page.suspect ? h('p', {class: 'notice'}, `Suspect key: ${page.suspect.raters} of ${page.suspect.of} ${page.suspect.judges === 'ready' ? 'ready raters' : 'raters of the better half'} gave ${page.suspect.score}. Look at the case before you look at the raters.`) : null,
    h('h2', {}, `The key: ${page.key}`), h('p', {}, page.reason || 'No reason is known.'),
    page.not_counted ? h('p', {class: 'hint'}, `It does not count toward a decision: ${page.not_counted}.`) : null,
    h('h2', {}, 'Who gave what'), h('p', {class: 'hint'}, `${count(page.given, 'score')} of members of this group; the criteria in our own words.`),
    h('ol', {class: 'ladder'}, [...page.levels].reverse().map(level => row(level, page.given))),
    page.no_score.length ? h('p', {}, `No score: ${page.no_score.join(', ')}.`) : null);
}

start();
