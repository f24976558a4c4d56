// @ts-check
// A sitting in numbers, what to work on, and every reason.

import { h, show, byId, percent, signed, records, count, date, modeWords } from './dom.js';
import { get, send, part, words } from './api.js';
import './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[2] ?? '');
const content = byId('content');

/** @param {string} term @param {any} value @param {any} [more] */
const figure = (term, value, more = null) => h('div', {}, h('dt', {}, term), h('dd', {}, value, more ? h('small', {}, more) : null));

async function start() {
  let sitting, summary, instrument;
  try {
    sitting = /** @type {import('./types').Sitting} */ (await get(`/api/sittings/${part(id)}`));
    instrument = /** @type {import('./types').Instrument} */ (await get(`/api/instruments/${part(sitting.instrument)}`));
    summary = /** @type {import('./types').Summary} */ (await get(`/api/sittings/${part(id)}/summary`));
  } catch (error) {
    const says = words(error);
    show(content, h('p', {class: 'notice'}, says), sitting && !sitting.finished
      ? h('p', {}, h('a', {href: `/sitting/${part(id)}`}, 'To the sitting')) : h('p', {}, h('a', {href: '/'}, 'To your sets')));
    return;
  }
  document.title = `Summary of ${sitting.set.title} - evenhand`;
  const {watch} = summary;
  const begin = h('div', {});
  const again = async (/** @type {any} */ body) => {
    try {
      const next = await send('POST', '/api/sittings', body);
      location.assign(`/sitting/${part(next.id)}`);
    } catch (error) {
      show(begin, h('p', {class: 'notice', role: 'alert'}, words(error)));
    }
  };
  show(content,
    h('p', {class: 'lead'}, `${sitting.set.title}, ${modeWords(sitting.mode)}, ${date(sitting.finished ?? sitting.begun)}. `,
      summary.scored ? `${summary.right} of ${summary.scored} items as the key.` : 'Nothing was scored.'),
    sitting.demonstration ? h('p', {class: 'notice'}, 'A demonstration: it decides about nobody.') : null,
    h('dl', {class: 'figures'},
      figure('Scored as the key', percent(summary.share), summary.lower !== null && summary.upper !== null
        ? `between ${percent(summary.lower)} and ${percent(summary.upper)}, n = ${summary.scored}` : `n = ${summary.scored}`),
      figure('Mean error', summary.mean_error === null ? '-' : signed(summary.mean_error, 2),
        summary.mean_error === null ? null : 'levels; above 0 is too generous'),
      figure('Stopwatch, yours minus true', watch.mean === null ? '-' : `${signed(watch.mean, 2)} s`,
        watch.n ? `${count(watch.n, 'reading')}${watch.sd === null ? '' : `, spread ${watch.sd.toFixed(2)} s`}` : 'no readings'),
      summary.sureness.right !== null || summary.sureness.wrong !== null
        ? figure('How sure', `${percent(summary.sureness.right)} / ${percent(summary.sureness.wrong)}`, 'when right / when wrong') : null),
    summary.caution ? h('p', {class: 'hint'}, summary.caution) : null,
    h('ul', {},
      summary.across_limit ? h('li', {}, `${count(summary.across_limit, 'miss', 'misses')} across a limit so near that watch or ruler may tell either way.`) : null,
      summary.abstained ? h('li', {}, `${count(summary.abstained, 'item')} where the key is a level and you gave none.`) : null,
      summary.no_key ? h('li', {}, `${count(summary.no_key, 'item')} without a key: neither right nor wrong, and not counted.`) : null,
      summary.unscored ? h('li', {}, `${count(summary.unscored, 'item')} without a level to give, ${summary.unscored_right} recognized as such.`) : null,
      summary.coarse ? h('li', {}, `${count(summary.coarse, 'reading')} on a device whose clock is too coarse; not in the stopwatch figures.`) : null,
      summary.described ? h('li', {}, `${count(summary.described, 'trial')} taken in the described form; not in the stopwatch figures.`) : null),
    h('div', {class: 'two'},
      h('section', {}, h('h2', {}, 'To work on'), summary.work_on.length
        ? h('ul', {}, summary.work_on.map(one => h('li', {}, h('a', {href: `/learn/${part(one.item)}?instrument=${part(sitting.instrument)}`},
          `Item ${one.item}, ${one.name}`), `: missed ${one.missed === 1 ? 'once' : `${one.missed} times`}`)))
        : h('p', {}, 'No item was missed.')),
      h('section', {}, h('h2', {}, 'Slips by kind'), summary.slips.some(one => one.n)
        ? h('ul', {}, summary.slips.filter(one => one.n).map(one => h('li', {}, `${one.words}: ${one.n}`)))
        : h('p', {}, 'None.'))),
    summary.next ? h('section', {}, h('h2', {}, 'Next'), h('p', {}, h('b', {}, summary.next.title), '. ', summary.next.why)) : null,
    h('p', {class: 'actions'},
      h('button', {type: 'button', onclick: () => again({next: true})}, 'Begin the next set'),
      h('a', {class: 'button quiet', href: '/progress'}, 'Progress'),
      h('button', {type: 'button', class: 'quiet', onclick: () => print()}, 'Print')),
    begin,
    h('h2', {}, 'Every item'),
    records('Every item of the sitting', ['Case and item', 'Your score', 'Key', 'Reason'], sitting.steps.map(step => {
      const answer = sitting.answers.find(one => one.case === step.case && one.item === step.item);
      const name = instrument.items.find(one => one.id === step.item)?.name ?? '';
      const beside = summary.items.find(one => one.case === step.case && one.item === step.item);
      return [`Case ${step.case_number}, item ${step.item}: ${name}`, answer ? answer.value ?? answer.status.replaceAll('-', ' ') : 'open',
        beside ? `${beside.key.replaceAll('-', ' ')}${beside.agrees ? '' : ', missed'}` : '-',
        answer ? h('a', {class: 'no-print', href: `/sitting/${part(id)}#${encodeURI(`${step.case}/${step.item}`)}`}, 'Reason',
          h('span', {class: 'unseen'}, ` of case ${step.case_number}, item ${step.item}`)) : null];
    })),
    h('p', {class: 'hint'}, 'Educational evidence from invented cases; no license, diagnosis or employment verdict.'));
}

start();
