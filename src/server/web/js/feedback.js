// @ts-check
// The reason: what the key is, what decided, what the next level wanted, the timeline with both watches, the
// slips with their cures, and the replay from the moment that decided.

import { h, count, signed, table } from './dom.js';
import { strip } from './strip.js';

/** @typedef {import('./types').Feedback} Feedback */
/** @typedef {import('./types').Instrument} Instrument */
/** @typedef {import('./types').InstrumentItem} Item */
/** @typedef {import('./types').Reading} Reading */

/** What helps against each kind of slip. @type {Record<string, string>} */
const cures = {
  'wrong-trial': 'Before you score, say for each trial what it would score alone; then take the one that counts.',
  'saw-it-wrong': 'Replay it and name the moment aloud: what starts the watch, what ends it, where the hands are.',
  'read-the-rule-wrong': 'Read the level you gave and the one that follows side by side, and find the word in which they differ.',
  'right-for-wrong-reason': 'The score agrees, but not by way of what you saw. With the next child it may not.',
  'gray-zone': 'The criteria alone do not settle this: know the ruling that is in force.',
};
/** The same where a trial is read. @type {Record<string, string>} */
const cures_of_reading = {...cures,
  'saw-it-wrong': 'Read it once more and name it aloud: what the hands did, where the adult was, what ended it.'};

/**
 * @param {Feedback} feedback
 * @param {{instrument: Instrument, item: Item, trials: import('./trials.js').ScoredTrials, readings: Reading[], observations: Record<string, string>, outside?: boolean}} context
 *   outside: a film or a child who is there
 */
export function reason(feedback, {instrument, item, trials, readings, observations, outside = false}) {
  const scored = (/** @type {string | null} */ value, /** @type {string | null} */ status) =>
    value ?? (status ?? '-').replaceAll('-', ' ');
  const key = scored(feedback.key.value, feedback.key.status), yours = scored(feedback.yours.value, feedback.yours.status);
  const {keyed} = feedback;
  const verdict = h('div', {class: !keyed ? 'verdict' : feedback.agrees ? 'verdict agrees' : 'verdict differs'},
    h('h2', {tabindex: '-1', id: 'reason-title'}, !keyed ? 'This item has no key'
      : feedback.agrees ? 'You agree with the key' : 'You differ from the key'),
    h('dl', {class: 'pair'},
      h('div', {}, h('dt', {}, 'Yours'), h('dd', {class: feedback.yours.value ? 'digit' : 'word'}, yours)),
      keyed ? h('div', {}, h('dt', {}, 'Key'), h('dd', {class: feedback.key.value ? 'digit' : 'word'}, key)) : null),
    keyed ? h('p', {class: 'criterion'}, feedback.key.says) : h('p', {}, 'Your score is kept, and is neither right nor wrong.'));

  /** @type {HTMLElement[]} */
  const parts = [verdict];
  parts.push(section(outside ? 'Where the key comes from' : 'What decided', ...feedback.reason.map(text => h('p', {}, text)),
    feedback.borderline ? h('p', {class: 'remark'}, h('b', {}, 'Borderline. '), feedback.borderline) : null,
    feedback.gray ? h('p', {class: 'remark'}, h('b', {}, 'Gray zone. '), feedback.gray) : null,
    ...feedback.notes.map(text => h('p', {class: 'remark'}, text)),
    replay(feedback, trials)));
  if (feedback.next) {
    parts.push(section(`What level ${feedback.next.value} asks for`, h('p', {class: 'criterion'}, feedback.next.says),
      feedback.next.lacks.length ? [h('p', {}, 'Missing for it:'), h('ul', {}, feedback.next.lacks.map(word => h('li', {}, word)))] : null));
  }
  const cure = trials.trials.every(trial => trial.timeline) ? cures : cures_of_reading;
  if (feedback.slips.length) {
    parts.push(section(feedback.slips.length === 1 ? 'The slip' : 'The slips', h('ul', {class: 'slips'}, feedback.slips.map(slip =>
      h('li', {class: `slip ${slip.kind}`}, h('h4', {}, capital(slip.words)), h('p', {}, slip.says), h('p', {class: 'cure'}, cure[slip.kind] ?? ''))))));
  }
  const timed = trials.options.watch === false ? [] : trials.counting.filter(place => trials.trials[place].timeline);
  if (timed.length) {
    parts.push(section('The watch', feedback.watch.length
      ? table('Your watch beside the true time', ['Trial', 'Yours', 'True', 'Difference'], feedback.watch.map(one => [
        `${one.trial}${one.form === 'described' ? ' (described form)' : ''}`, `${one.yours.toFixed(2)} s`, `${one.true.toFixed(1)} s`,
        `${signed(one.difference, 2)} s`]), ['', 'number', 'number', 'number'])
      : h('p', {}, 'You did not run the watch here.'),
    timed.map(place => strip(trials.name(place), trials.trials[place],
      feedback.stretches.filter(one => one.trial === place).map(one => ({from: one.from, to: one.to,
        words: stretchWords(one.observation)})),
      readings.filter(one => one.trial === trials.number(place))))));
  }
  if (item.levels.length) parts.push(levels(item, feedback));
  parts.push(h('details', {class: 'fold'}, h('summary', {}, 'What you wrote down'), written(instrument, item, observations, readings)));
  return h('section', {class: 'reason', 'aria-labelledby': 'reason-title'}, parts);
}

/** The criteria side by side, as the cure for a rule read wrong asks. @param {Item} item @param {Feedback} feedback */
function levels(item, feedback) {
  const tags = (/** @type {string} */ label) => [feedback.yours.value === label ? 'yours' : '', feedback.key.value === label ? 'key' : ''].filter(Boolean);
  return h('details', {class: 'fold', open: feedback.slips.some(slip => slip.kind === 'read-the-rule-wrong')},
    h('summary', {}, 'The levels of this item'),
    h('dl', {class: 'facts'}, item.levels.map(level => h('div', {}, h('dt', {}, `Level ${level.label}`, tags(level.label).map(tag => [' ', h('span', {class: 'tag'}, tag)])),
      h('dd', {}, level.says)))));
}

/** @param {string} title @param {...any} children */
function section(title, ...children) {
  return h('section', {}, h('h3', {}, title), children);
}

/** @param {string} words */
const capital = words => words.charAt(0).toUpperCase() + words.slice(1);

/** @param {string} observation */
const stretchWords = observation => observation === 'hold' ? 'the hold' : observation.replaceAll('_', ' ');

/** @param {Feedback} feedback @param {import('./trials.js').ScoredTrials} trials */
function replay(feedback, trials) {
  const place = feedback.deciding_trial;
  if (place === null || !trials.trials[place]?.timeline) return null;
  const from = feedback.replay_from ?? 0;
  return h('div', {class: 'replay', role: 'group', 'aria-label': 'Replay from the moment that decided'},
    h('span', {}, `Replay ${trials.name(place).toLowerCase()} from ${from.toFixed(1)} s:`),
    [[1, 'at its speed'], [0.5, 'half speed'], [0.25, 'quarter speed']].map(([rate, words]) =>
      h('button', {type: 'button', class: 'quiet', onclick: () => trials.replay(place, from, Number(rate))}, words)));
}

/**
 * An answer in words.
 * @param {Instrument} instrument @param {Item} item @param {Record<string, string>} observations @param {Reading[]} readings
 */
export function written(instrument, item, observations, readings) {
  const rows = item.observe.filter(id => instrument.observations[id]).map(id => {
    const one = instrument.observations[id];
    const value = observations[id];
    const words = value === undefined
      ? one.usual.map(u => one.values?.find(v => v.id === u)?.words ?? u).join(', or ')
      : one.values?.find(v => v.id === value)?.words ?? value;
    return h('div', {}, h('dt', {}, one.ask), h('dd', {}, words || '-', value === undefined && words ? h('span', {class: 'tag'}, 'as usual') : null));
  });
  return h('div', {}, h('dl', {class: 'facts'}, rows),
    readings.length ? h('p', {}, `${count(readings.length, 'stopwatch reading')}: ${readings.map(r =>
      `trial ${r.trial}, ${r.seconds.toFixed(2)} s${r.form === 'described' ? ' (described form)' : ''}`).join('; ')}.`) : null);
}
