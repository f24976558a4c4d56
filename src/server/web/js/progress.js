// @ts-check
// The learning curve, item by item, and how well sure and right go together.

import { h, show, byId, percent, signed, table, date, modeWords, records } from './dom.js';
import { get, send, part, words } from './api.js';
import { finishedOf, learningCurve, sureness } from './chart.js';
import './frame.js';

const content = byId('content');

async function start() {
  let progress;
  try {
    progress = await get('/api/progress');
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
    return;
  }
  const sittings = /** @type {any[]} */ (progress.sittings);
  const drawn = finishedOf(sittings);
  if (!sittings.length) {
    show(content, h('p', {class: 'lead'}, 'Nothing yet. After your first sitting your learning curve stands here.'),
      h('p', {}, h('a', {class: 'button', href: '/'}, 'To the sets')));
    return;
  }
  const problem = h('div', {});
  const bins = /** @type {any[]} */ (progress.sureness).filter(bin => bin.n > 0);
  show(content,
    progress.next ? h('section', {class: 'card go'}, h('h2', {}, progress.next.title), h('p', {}, progress.next.why),
      h('p', {}, h('button', {type: 'button', onclick: async () => {
        try {
          const made = await send('POST', '/api/sittings', {next: true});
          location.assign(`/sitting/${part(made.id)}`);
        } catch (error) {
          show(problem, h('p', {class: 'notice', role: 'alert'}, words(error)));
        }
      }}, 'Begin')), problem) : null,
    progress.rule ? h('details', {class: 'fold'}, h('summary', {}, 'How the next set is chosen'), h('p', {}, progress.rule)) : null,
    h('h2', {}, 'Sittings'),
    drawn.length ? h('figure', {class: 'strip-box'}, h('figcaption', {}, 'Percent of items scored as the key, with 95% limits where there are any, by the number of the sitting'),
      learningCurve(drawn)) : null,
    records('Every sitting', ['Sitting', 'Date', 'As the key', 'Limits', 'Mean error', 'Watch'], sittings.map((one, i) => [
      h('a', {href: one.finished ? `/sitting/${part(one.id)}/summary` : `/sitting/${part(one.id)}`}, `${i + 1}. ${one.title}`),
      one.finished ? `${date(one.begun)}, ${modeWords(one.mode)}` : `${date(one.begun)}, open`,
      one.scored ? `${one.right} of ${one.scored}` : '-',
      one.lower === null || one.lower === undefined ? '-' : `${percent(one.lower)} to ${percent(one.upper)}`,
      one.mean_error === null || one.mean_error === undefined ? '-' : signed(one.mean_error, 2),
      one.watch_mean === null || one.watch_mean === undefined ? '-' : `${signed(one.watch_mean, 2)} s`,
    ]), ['', '', 'number', '', 'number', 'number']),
    h('h2', {}, 'Items'),
    table('Item by item, over all sittings', ['Item', 'As the key', 'Learn'], progress.items.map((/** @type {any} */ one) => [
      `${one.item}, ${one.name}`, one.scored ? `${one.right} of ${one.scored}` : 'not yet',
      h('a', {href: `/learn/${part(one.item)}`}, 'Learn', h('span', {class: 'unseen'}, ` item ${one.item}`))]), ['', 'number', '']),
    h('h2', {}, 'Sure and right'),
    bins.length ? [h('figure', {class: 'strip-box'}, h('figcaption', {}, 'Percent right against how sure you said you were'), sureness(bins)),
      table('How sure, how often right', ['Sure', 'Answers', 'Right'], bins.map(bin => [`${percent(bin.from)} to ${percent(bin.to)}`,
        String(bin.n), `${bin.right} (${percent(bin.right / bin.n)})`]), ['', 'number', 'number'])]
      : h('p', {}, 'Say how sure you are when you score, and this shows how well sure and right go together.'));
}

start();
