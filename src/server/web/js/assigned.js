// @ts-check
// Sets that an instructor gave to the group: first on the student's page, each with its window.

import { h, count, dateTime, modeWords } from './dom.js';
import { part } from './api.js';

/** What is still to do: open, to come, or begun and to be handed in. @param {any[]} given */
export const standing = given => given.filter(one => one.state !== 'closed' || one.open_sitting);

/** @param {any} one */
function windowWords(one) {
  if (one.state === 'upcoming') return `Opens ${dateTime(one.opens)}, closes ${dateTime(one.closes)}.`;
  return one.state === 'open' ? `Closes ${dateTime(one.closes)}${one.more_minutes ? ' for you: more time was arranged' : ''}.` : `Closed ${dateTime(one.closes)}: hand in what you have.`;
}

/**
 * @param {any} one
 * @param {(body: any, near: Element) => Promise<void>} begin
 */
export function givenCard(one, begin) {
  const done = one.done.at(-1), left = one.attempts - one.used;
  const may = one.state === 'open' && left > 0 && one.set.there;
  const title = h('span', {class: 'unseen'}, ` ${one.set.title}`);
  const host = h('li', {class: one.open_sitting || may ? 'card go' : 'card'},
    h('h3', {}, one.set.title),
    h('p', {}, `${count(one.set.cases, 'child', 'children')}, ${count(one.set.items, 'item')}`, h('span', {class: 'tag'}, modeWords(one.mode)),
      one.set.demonstration ? h('span', {class: 'tag'}, 'demonstration') : null),
    h('p', {}, windowWords(one), one.attempts > 1 ? ` Used: ${one.used} of ${one.attempts} attempts.` : ''),
    done ? h('p', {class: 'hint'}, h('a', {href: `/sitting/${part(done)}/summary`}, 'Last summary', title.cloneNode(true))) : null,
    h('p', {}, one.open_sitting
      ? h('a', {class: 'button', href: `/sitting/${part(one.open_sitting)}`}, one.state === 'open' ? 'Continue' : 'Hand in', title)
      : may ? h('button', {type: 'button', onclick: () => begin({set: one.set.id}, host)}, one.used ? 'Begin again' : 'Begin', title)
        : one.done.length ? 'Handed in.' : null));
  return host;
}
