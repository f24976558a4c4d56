// @ts-check
// Continue where you stopped; sets to open; items to learn.

import { h, show, byId, count, dateTime, modeWords } from './dom.js';
import { get, send, part, words } from './api.js';
import { givenCard, standing } from './assigned.js';
import './frame.js';

/** @typedef {import('./types').SetListed} SetListed */

const content = byId('content');

/** @param {any} body @param {Element} near */
async function begin(body, near) {
  try {
    const {id} = await send('POST', '/api/sittings', body);
    location.assign(`/sitting/${part(id)}`);
  } catch (error) {
    near.querySelector('.notice')?.remove();
    near.append(h('p', {class: 'notice', role: 'alert'}, words(error)));
  }
}

/** @param {SetListed} set */
function size(set) {
  return `${count(set.cases, 'child', 'children')}, ${count(set.items, 'item')}`;
}

/** @param {SetListed} set @param {boolean} first */
function card(set, first) {
  const done = set.done.at(-1);
  const host = h('li', {class: first ? 'card go' : 'card'},
    h('h3', {}, set.title),
    h('p', {}, size(set), h('span', {class: 'tag'}, modeWords(set.mode)), set.demonstration ? h('span', {class: 'tag'}, 'demonstration') : null),
    done ? h('p', {class: 'hint'}, `Done ${set.done.length === 1 ? 'once' : `${set.done.length} times`}. `,
      h('a', {href: `/sitting/${part(done)}/summary`}, 'Last summary')) : null,
    h('p', {}, set.open_sitting
      ? h('a', {class: 'button', href: `/sitting/${part(set.open_sitting)}`}, 'Continue', h('span', {class: 'unseen'}, ` ${set.title}`))
      : h('button', {type: 'button', class: first ? '' : 'quiet', onclick: () => begin({set: set.id}, host)},
        set.done.length ? 'Begin again' : 'Begin', h('span', {class: 'unseen'}, `: ${set.title}`))));
  return host;
}

/** @param {{id: string, title: string, set: string, open: boolean, closes: string | null, sitting: string | null, handed_in: boolean}} round */
function roundCard(round) {
  const host = h('li', {class: round.open && !round.handed_in ? 'card go' : 'card'},
    h('h3', {}, round.title),
    h('p', {}, round.open ? (round.closes ? `Open until ${dateTime(round.closes)}.` : 'Open.') : 'Closed: the reasons can be seen.',
      h('span', {class: 'tag'}, 'calibration')),
    h('p', {}, !round.open
      ? h('a', {class: 'button quiet', href: `/sitting/${part(String(round.sitting))}${round.handed_in ? '/summary' : ''}`},
        'See the reasons', h('span', {class: 'unseen'}, ` of ${round.title}`))
      : round.handed_in ? 'Handed in. The reasons come when the round closes.'
        : h('button', {type: 'button', onclick: () => begin({set: round.set}, host)}, round.sitting ? 'Continue' : 'Begin',
          h('span', {class: 'unseen'}, `: ${round.title}`))));
  return host;
}

async function start() {
  let sets, rounds;
  try {
    // What belongs to a round is offered with the round.
    sets = /** @type {SetListed[]} */ (await get('/api/sets')).filter(set => set.mode !== 'calibration');
    rounds = /** @type {any[]} */ (await get('/api/my-rounds'));
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
    return;
  }
  const given = standing(await get('/api/assignments').catch(() => []));
  const begun = new Set(given.map(one => one.open_sitting)), offered = new Set(given.map(one => one.set.id));
  const open = sets.filter(set => set.open_sitting && !begun.has(set.open_sitting));
  // A newcomer begins with the shortest practice set.
  const rest = sets.filter(set => !set.open_sitting && !offered.has(set.id))
    .sort((a, b) => Number(a.mode !== 'practice') - Number(b.mode !== 'practice') || a.items - b.items);
  const instrumentId = sets[0]?.instrument;
  const learn = h('section', {'aria-labelledby': 'learn'});
  const fresh = sets.every(set => !set.open_sitting && !set.done.length) && rounds.every(one => !one.sitting) && given.every(one => !one.open_sitting && !one.done.length);
  const chosen = h('div', {}, h('p', {}, 'A set made for the items that you miss most, from the children you have seen least.'),
    h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => begin({next: true}, chosen)}, 'Make my next set')));
  show(content,
    given.length ? h('section', {}, h('h2', {}, 'From your instructor'), h('ul', {class: 'cards'}, given.map(one => givenCard(one, begin)))) : null,
    open.length ? h('section', {}, h('h2', {}, 'Continue where you stopped'), h('ul', {class: 'cards'}, open.map(set => card(set, true)))) : null,
    rounds.length ? h('section', {}, h('h2', {}, 'Calibration rounds'), h('ul', {class: 'cards'}, rounds.map(roundCard))) : null,
    fresh ? h('p', {class: 'lead'}, 'New here? The first set takes about twenty minutes, and you can stop and come back at any item.') : null,
    h('section', {}, h('h2', {}, 'Sets'), h('ul', {class: 'cards'}, rest.map((set, i) => card(set, fresh && i === 0)))),
    fresh ? null : h('section', {}, h('h2', {}, 'Chosen for you'), chosen),
    learn,
    h('section', {}, h('h2', {}, 'With another rater'),
      h('p', {}, h('a', {href: '/pair'}, 'Score a live child together'), ': each alone, then you see where you differ.')));
  if (!instrumentId) return;
  const instrument = await get(`/api/instruments/${part(instrumentId)}`).catch(() => null);
  if (!instrument) return;
  show(learn, h('h2', {id: 'learn'}, 'Learn an item'),
    h('p', {}, 'Its levels side by side as short performances, then pairs to compare.'),
    h('ol', {class: 'items-to-learn'}, instrument.items.map((/** @type {import('./types').InstrumentItem} */ item) =>
      h('li', {}, h('a', {href: `/learn/${part(item.id)}?instrument=${part(instrument.id)}`}, h('b', {}, item.id), item.name)))));
}

start();
