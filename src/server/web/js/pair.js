// @ts-check
// A live pair: who and when, then one item after the other on this device, handed in at the end; and the two side by
// side once both have handed in.

import { h, show, announce, byId, count, date, records, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { ask, attempt, faultAt, field } from './fields.js';
import { answerForm } from './answer_form.js';
import { PadTrials } from './pad_trials.js';
import { safetyNotes } from './child.js';
import { remembered, remember, rater } from './frame.js';

/**
 * @typedef {{code: string, date: string, instrument: string, partner: string}} Setup
 * @typedef {{setup: Setup, answers: Record<string, import('./types').Answer>}} Kept
 * @typedef {{case: string, partner: string | null, instrument: string, at: string, taken_back: boolean, both: boolean}} Part
 */

const content = byId('content');
const kept = `pair-${rater}`;

/** What is on this device and not handed in. @returns {Kept | null} */
const onDevice = () => JSON.parse(remembered(kept) ?? 'null');
/** @param {Kept | null} state */
const keep = state => remember(kept, state ? JSON.stringify(state) : null);

/** pair-reed-2026-09-01: the child's code. @param {string} caseId */
const codeOf = caseId => caseId.replace(/^pair-/, '').replace(/-\d{4}-\d\d-\d\d$/, '');
/** @param {string} caseId */
const dayOf = caseId => date(`${caseId.slice(-10)}T12:00:00`);

// ---- Who and when

/** @param {any} all */
function setupForm(all) {
  const instrument = h('select', {id: 'instrument'}, all.instruments.map((/** @type {any} */ one) =>
    h('option', {value: one.id, selected: one.id === 'pediatric-balance'}, one.title)));
  const code = h('input', {id: 'code', maxlength: '30', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false'});
  const now = new Date();
  const today = `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, '0')}-${String(now.getDate()).padStart(2, '0')}`;
  const day = h('input', {id: 'date', type: 'date', value: today, max: today});
  const partner = h('input', {id: 'partner', maxlength: '40', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false'});
  const consent = h('input', {type: 'checkbox', id: 'consent'});
  const form = h('form', {class: 'form', novalidate: true},
    field(code, 'Code of the child', 'One that the two of you agree on: small letters, digits and hyphens, such as reed-7. Never the child\u2019s name, initials or number.'),
    field(day, 'Day'), field(instrument, 'Instrument'),
    field(partner, 'Rater id of the other', 'Each names the other, with the same code and day. Nobody else sees what the two of you gave.'),
    h('p', {class: 'notice'}, all.caution),
    h('p', {class: 'tick'}, h('label', {}, consent, ' Parents and child agreed to two raters looking on, and somebody who is licensed guards the child.')),
    h('p', {}, h('button', {type: 'submit'}, 'Begin')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    if (!/^[a-z0-9]+(-[a-z0-9]+)*$/.test(code.value.trim())) return faultAt(code, 'Small letters, digits and single hyphens, such as reed-7; never the child\u2019s name.');
    if (!day.value) return faultAt(day, 'The day on which the child is seen.');
    if (!partner.value.trim()) return faultAt(partner, 'Name the other rater.');
    if (partner.value.trim() === rater) return faultAt(partner, 'Name the other rater, not yourself.');
    if (!consent.checked) return faultAt(consent, 'Without consent, and somebody who guards the child, nothing is scored.');
    keep({setup: {code: code.value.trim(), date: day.value, instrument: instrument.value, partner: partner.value.trim()}, answers: {}});
    start();
  });
  return form;
}

/** @param {Part[]} parts */
function earlier(parts) {
  if (!parts.length) return null;
  return h('section', {}, h('h2', {}, 'Handed in'), records('What you handed in', ['Child', 'Day', 'With', 'State'], parts.map(one => [
    codeOf(one.case), dayOf(one.case), one.partner ?? 'one who has left',
    one.taken_back ? 'taken back' : one.both ? h('a', {href: `#${one.case}`, onclick: () => setTimeout(start)}, 'See where you differ', h('span', {class: 'unseen'}, ` on ${codeOf(one.case)}, ${dayOf(one.case)}`))
      : 'waits for the other to hand in and name you'])));
}

// ---- Item after item

/** @param {Kept} state @param {import('./types').Instrument} instrument @param {number} at */
function scoring(state, instrument, at) {
  const {setup} = state;
  const item = instrument.items[at];
  const watches = item.observe.filter(name => instrument.observations[name]?.kind === 'duration').length;
  const ways = item.trials.ways?.length ? item.trials.ways : [null];
  const slots = ways.flatMap(way => Array.from({length: item.trials.count}, () => ({way, written: null, timeline: null})));
  const left = h('div', {class: 'trials'}), right = h('div', {class: 'answer'});
  const trials = new PadTrials(left, slots, {watches});
  const go = (/** @type {number} */ place) => {
    trials.destroy();
    scoring(state, instrument, place);
  };
  const done = () => instrument.items.filter(one => state.answers[one.id]).length;
  const title = h('h2', {tabindex: '-1'}, h('span', {class: 'eyebrow'}, `Item ${item.id}`), ' ', item.name);
  const ending = h('div', {});
  const drawEnding = () => show(ending, h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => finish(state, instrument, ending, drawEnding)},
    done() === instrument.items.length ? 'Hand in ...' : 'Hand in what there is ...')),
  h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => ask(ending, {question: 'Everything that you entered for this child goes from this device.', yes: 'Discard it',
    deed: async () => { trials.destroy(); keep(null); await start(); }, back: drawEnding})}, 'Discard ...')));
  drawEnding();
  show(content,
    h('div', {class: 'where'},
      h('p', {class: 'place'}, h('strong', {}, `${setup.code}, with ${setup.partner}`)),
      h('p', {class: 'meter'}, h('progress', {max: String(instrument.items.length), value: done(), 'aria-labelledby': 'meter'}),
        h('span', {id: 'meter'}, `${done()} of ${instrument.items.length} scored`)),
      h('nav', {'aria-label': 'Items'}, h('ol', {class: 'items'}, instrument.items.map((one, place) => {
        const scored = Boolean(state.answers[one.id]);
        return h('li', {}, h('a', {href: '#', class: scored ? 'done' : 'todo', 'aria-current': place === at ? 'step' : null, title: one.name,
          onclick: (/** @type {Event} */ event) => { event.preventDefault(); go(place); }},
        h('span', {class: 'unseen'}, 'Item '), one.id, h('span', {class: 'unseen'}, ` ${one.name}, ${scored ? 'scored' : 'open'}`),
        scored ? h('span', {class: 'mark', 'aria-hidden': 'true'}, '\u2713') : null));
      })))),
    title, h('p', {class: 'task'}, item.task), at === 0 ? safetyNotes(instrument) : null,
    h('div', {class: 'desk'}, left, right), ending);
  answerForm(right, {instrument, item, trials, draft: null, answer: state.answers[item.id] ?? null,
    button: state.answers[item.id] ? 'Keep the change' : 'Keep', keep: () => {},
    save: async body => {
      state.answers[item.id] = body;
      keep(state);
      announce('Kept on this device.');
      const next = instrument.items.findIndex(one => !state.answers[one.id]);
      go(next < 0 ? at : next);
    }});
  title.focus();
}

/** @param {Kept} state @param {import('./types').Instrument} instrument @param {Element} place @param {() => void} back */
function finish(state, instrument, place, back) {
  const open = instrument.items.filter(one => !state.answers[one.id]).map(one => one.id);
  ask(place, {question: `${open.length ? `Not scored: ${open.length === 1 ? 'item' : 'items'} ${open.join(', ')}. ` : ''}Handed in, your scores stand. You see the other\u2019s when both of you have handed in.`,
    yes: 'Hand in', back, deed: async () => {
      const made = await send('POST', '/api/pairs', {...state.setup, consent: true, answers: state.answers});
      keep(null);
      location.hash = made.case;
      await start();
    }});
}

// ---- Side by side

/** @param {any} given @param {import('./types').Instrument} instrument @param {import('./types').InstrumentItem | undefined} item */
function givenCell(given, instrument, item) {
  if (!given) return 'left blank';
  const seen = Object.entries(given.observations).filter(([name, value]) => !(instrument.observations[name]?.usual.length === 1 && instrument.observations[name].usual[0] === value))
    .map(([name, value]) => instrument.observations[name]?.values?.find(one => one.id === value)?.words ?? `${name.replaceAll('_', ' ')} ${value}`);
  const label = given.value ?? given.status.replaceAll('-', ' ');
  return [h('b', {}, label), seen.length ? h('span', {class: 'hint'}, ` ${seen.join('; ')}`) : h('span', {class: 'hint'}, given.value && item ? ' all as usual' : ''),
    given.own_level && given.own_level !== given.value ? h('span', {}, ` What was written down gives ${given.own_level}.`) : null];
}

/** @param {any} pair @param {import('./types').Instrument} instrument */
function sideBySide(pair, instrument) {
  const back = h('p', {}, h('a', {href: '/pair'}, 'To your live pairs'));
  const title = h('h2', {tabindex: '-1'}, `${codeOf(pair.case)}, ${dayOf(pair.case)}`);
  if (!pair.items) {
    show(content, title, h('p', {}, pair.taken_back ? 'Your scores were taken back.'
      : `Handed in. ${pair.partner ?? 'The other'} has not handed in yet, or named somebody else, another code or another day. Nothing is shown before.`), back);
    title.focus();
    return;
  }
  const both = pair.items.filter((/** @type {any} */ one) => one.apart !== null);
  const same = both.filter((/** @type {any} */ one) => one.apart === 0), near = both.filter((/** @type {any} */ one) => Math.abs(one.apart) <= 1);
  const differ = pair.items.filter((/** @type {any} */ one) => !one.same);
  const cells = (/** @type {any} */ one) => {
    const item = instrument.items.find(known => known.id === one.item);
    return [`${one.item} ${one.name}`, givenCell(one.mine, instrument, item), givenCell(one.theirs, instrument, item),
      one.apart === null ? (one.same ? 'the same' : 'differ') : one.apart === 0 ? 'the same' : `${count(Math.abs(one.apart), 'level')} ${one.apart > 0 ? 'higher' : 'lower'} than ${pair.partner}`];
  };
  show(content, title,
    h('p', {class: 'lead'}, both.length ? `You both gave a level to ${count(both.length, 'item')}: the same to ${same.length}, and within one level to ${near.length}.` : 'There is no item to which you both gave a level.'),
    h('p', {}, 'One child tells little about two raters: talk about the items below, and look again with the next child. There is no key, so neither of you is right or wrong by this page.'),
    h('h3', {}, 'Where you differ'),
    differ.length ? records('Items on which you differ', ['Item', 'You', pair.partner ?? 'The other', 'You are'], differ.map(cells)) : h('p', {}, 'Nowhere.'),
    h('h3', {}, 'Where you agree'),
    differ.length < pair.items.length ? records('Items on which you agree', ['Item', 'You', pair.partner ?? 'The other', 'You are'],
      pair.items.filter((/** @type {any} */ one) => one.same).map(cells)) : h('p', {}, 'Nowhere.'),
    h('p', {class: 'hint'}, `In the scores of the department this child is called ${pair.case}. Whoever looks after the store gets every agreement statistic over all such children with: evenhand agreement --store STORE --instrument ${pair.instrument} --case 'pair-*'`),
    back);
  title.focus();
}

async function start() {
  const named = decodeURIComponent(location.hash.slice(1));
  await attempt(content, async () => {
    if (named.startsWith('pair-')) {
      const pair = await get(`/api/pairs/${part(named)}`);
      return sideBySide(pair, await get(`/api/instruments/${part(pair.instrument)}`));
    }
    const state = onDevice();
    if (state) {
      const instrument = /** @type {import('./types').Instrument} */ (await get(`/api/instruments/${part(state.setup.instrument)}`));
      const next = instrument.items.findIndex(one => !state.answers[one.id]);
      return scoring(state, instrument, Math.max(0, next));
    }
    const all = await get('/api/pairs');
    show(content, h('h2', {}, 'Begin'), setupForm(all), earlier(all.parts));
    focusOn(null);
  });
  content.removeAttribute('aria-busy');
}

start();
