// @ts-check
// The form of one item: which trial, what was seen, the score, how sure. Checks what is missing, keeps a draft of
// every change, and hands the answer on.

import { h, show, count } from './dom.js';
import { ObservationForm } from './observe.js';
import { ScorePad } from './score.js';

/** @typedef {import('./types').Answer} Answer */

/**
 * @param {Element} host
 * @param {{instrument: import('./types').Instrument, item: import('./types').InstrumentItem, trials: import('./trials.js').ScoredTrials,
 *   draft: import('./types').Draft | null, answer: Answer | null, button: string,
 *   keep: (draft: import('./types').Draft) => void, save: (body: Answer) => Promise<void>}} context
 *   answer: the one given before
 * @returns {ScorePad}
 */
export function answerForm(host, {instrument, item, trials, draft, answer, button, keep, save}) {
  const given = trials.trials.length > 0;
  const problems = h('div', {class: 'problems', role: 'alert', tabindex: '-1', hidden: true});
  const form = h('form', {novalidate: true, class: 'scoring', 'aria-label': 'Your answer'}, problems);
  const counting = trials.counting;
  /** @type {HTMLInputElement[]} */
  const which = [];
  const asksWhich = counting.length > 1 && item.trials.counts !== 'mean';
  const seen = h('div', {class: 'seen'}, given ? h('h2', {}, 'What you saw') : null);
  if (asksWhich) {
    seen.append(h('fieldset', {class: 'fact', id: 'which', 'aria-describedby': 'which-problem'},
      h('legend', {}, item.trials.ways?.length ? 'Which trial decides?' : 'Which trial counts?'),
      h('div', {class: 'row'}, counting.map(place => {
        const radio = h('input', {type: 'radio', name: 'which', value: String(trials.number(place)), onchange: () => changed()});
        which.push(radio);
        return h('label', {class: 'step'}, radio, h('span', {}, trials.name(place)));
      })), h('span', {class: 'problem', id: 'which-problem'})));
  }
  const observed = given ? new ObservationForm(seen, instrument, item) : null;
  form.append(seen);
  const pad = new ScorePad(form, instrument, item, given);
  const submit = h('button', {type: 'submit', class: 'save'}, button);
  form.append(h('p', {class: 'actions'}, submit));
  const trial = () => asksWhich ? Number(which.find(radio => radio.checked)?.value ?? 0) || null : counting.length === 1 ? 1 : null;

  const takeReadings = () => {
    if (!observed) return;
    const durations = observed.durations;
    const ofTrial = (/** @type {number} */ n) => trials.readings.filter(reading => reading.trial === n);
    durations.forEach((name, i) => {
      if (item.trials.counts === 'mean') {
        const all = counting.map(place => ofTrial(trials.number(place))[i]?.seconds).filter(seconds => seconds !== undefined);
        const mean = all.length ? all.reduce((a, b) => a + b, 0) / all.length : null;
        observed.fromWatch(name, mean, `the mean of ${count(all.length, 'reading')} of your watch`);
        return;
      }
      const n = trial() ?? trials.readings.at(-1)?.trial ?? 0;
      // A stretch to one side is of that side, whichever comes first; what has no side is taken in order.
      const mine = ofTrial(n), sides = mine.map(one => trials.sideOf(one));
      const reading = durations.length < 2 ? mine.at(-1)
        : sides.some(Boolean) ? mine.findLast((_, at) => sides[at] !== null && name.endsWith(`_${sides[at]}`)) : mine[i];
      observed.fromWatch(name, reading?.seconds ?? null, `from your watch, trial ${n}`);
    });
  };
  const keepDraft = () => keep({
    readings: trials.readings, described: [...trials.described], trial: trial(), ...(observed?.draft() ?? {numbers: {}, facts: {}, byHand: []}),
    score: pad.value, sureness: pad.sureness});
  const changed = () => { takeReadings(); keepDraft(); };
  trials.addEventListener('readings', changed);
  observed?.addEventListener('change', keepDraft);
  pad.addEventListener('change', keepDraft);

  /** @param {number[]} numbers */
  const tookDescribed = numbers => counting.filter(place => numbers.includes(trials.number(place))).forEach(place => trials.described.add(place));
  if (draft) {
    trials.readings = draft.readings;
    draft.described.forEach(place => trials.described.add(place));
    tookDescribed(draft.describedTrials ?? []);
    for (const radio of which) radio.checked = Number(radio.value) === draft.trial;
    if (draft.observations) observed?.restoreAnswer(draft.observations);
    else observed?.restore(draft);
    pad.value = draft.score;
    pad.sureness = draft.sureness;
  } else if (answer) {
    trials.readings = answer.stopwatch ?? [];
    tookDescribed(answer.described ?? []);
    for (const radio of which) radio.checked = Number(radio.value) === answer.trial;
    observed?.restoreAnswer(answer.observations, trials.readings.map(reading => reading.seconds));
    pad.value = answer.value ?? `status:${answer.status}`;
    pad.sureness = answer.sureness === null ? null : String(answer.sureness);
  }
  takeReadings();
  if (draft?.fault) {
    show(problems, h('h2', {}, 'Not saved yet'), h('p', {}, draft.fault, ' Change what does not fit and save again.'));
    problems.hidden = false;
    setTimeout(() => problems.focus());
  }

  form.addEventListener('submit', async event => {
    event.preventDefault();
    /** @type {{field: string, says: string}[]} */
    const faults = [];
    // Of a form without a score everything is said at once that a level would need.
    const level = !pad.value?.startsWith('status:');
    const read = observed?.read() ?? {observations: {}, problems: []};
    if (level) faults.push(...read.problems);
    const missing = level && asksWhich && trial() === null;
    const whichProblem = seen.querySelector('#which-problem');
    if (whichProblem) whichProblem.textContent = missing ? 'Say which trial it is.' : '';
    if (missing) faults.unshift({field: 'which', says: 'Say which trial it is that you score.'});
    pad.say(pad.value === null ? 'Pick a score, or say why there is none.' : '');
    if (pad.value === null) faults.push({field: 'score', says: 'Pick a score, or say why there is none.'});
    if (trials.running) faults.push({field: 'pad-watch', says: 'Your stopwatch still runs: stop it first.'});
    if (trials.playing) faults.push({field: 'trials', says: `${trials.playing} still plays: let it end, or break it off and play it again.`});
    if (faults.length) {
      show(problems, h('h2', {}, 'Not saved yet'), h('ul', {}, faults.map(fault => h('li', {},
        h('a', {href: `#${fault.field}`, onclick: (/** @type {Event} */ e) => {
          e.preventDefault();
          focusOn(fault.field);
        }}, fault.says)))));
      problems.hidden = false;
      problems.focus();
      return;
    }
    submit.disabled = true;
    /** @type {Answer} */
    const body = {trial: trial(), status: level ? 'observed' : String(pad.value).slice('status:'.length),
      value: level ? pad.value : null, observations: read.observations, stopwatch: trials.handedIn,
      described: counting.filter(place => trials.described.has(place)).map(place => trials.number(place)),
      sureness: pad.sureness === null ? null : Number(pad.sureness), at: new Date().toISOString()};
    try {
      await save(body);
    } catch (error) {
      submit.disabled = false;
      show(problems, h('h2', {}, 'Not saved yet'), h('p', {}, error instanceof Error ? error.message : String(error)));
      problems.hidden = false;
      problems.focus();
    }
  });
  host.append(form);
  return pad;
}

/** @param {string} field */
function focusOn(field) {
  const found = document.getElementById(field);
  if (!found) return;
  found.closest('details')?.setAttribute('open', '');
  const target = found.matches('input, select') ? found : found.querySelector('input') ?? found;
  target.focus();
  target.scrollIntoView({block: 'center'});
}

