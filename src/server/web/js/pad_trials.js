// @ts-check
// The trials of a film or a child who is there: nothing to play, only a stopwatch and which trial it is for. Stands
// in for Trials in the form of an answer.

import { h, count } from './dom.js';
import { Stopwatch } from './stopwatch.js';
import { clockStep, coarsest_clock } from './player.js';
import { Trials } from './trials.js';

/** @typedef {import('./types').Trial} Trial */
/** @typedef {import('./types').Reading} Reading */

/** What a watch runs on where nothing plays: the time of the room. */
class Room extends EventTarget {
  constructor() {
    super();
    const step = clockStep();
    this.mode = 'live';
    /** Whether the clock of this browser is fine enough for hundredths of a second. */
    this.sound = step > 0 && step < coarsest_clock;
    this.quality = {largestGap: 0};
  }

  /** There is no trial whose time it could be. */
  timeOf() { return NaN; }
}

/** Events: 'readings' when the watch was stopped or a reading was taken away. */
export class PadTrials extends EventTarget {
  /**
   * @param {Element} host
   * @param {Trial[]} trials  those that the rule allows
   * @param {{watches: number}} options  how many stretches of a trial are timed; 0: none
   */
  constructor(host, trials, options) {
    super();
    this.trials = trials;
    this.options = options;
    /** @type {Reading[]} */
    this.taken = [];
    /** @type {Set<number>} */
    this.described = new Set();
    this.closed = false;
    this.current = 1;
    if (!options.watches) {
      host.append(h('p', {class: 'hint'}, 'Nothing is timed in this item.'));
      return;
    }
    /** @type {HTMLInputElement[]} */
    this.which = [];
    const choose = trials.length < 2 ? null : h('fieldset', {class: 'fact'}, h('legend', {}, 'Which trial do you time?'),
      h('div', {class: 'row'}, trials.map((_, place) => {
        const radio = h('input', {type: 'radio', name: 'timed', value: String(place + 1), checked: place === 0,
          onchange: () => { this.current = place + 1; this.watch?.reset(); }});
        this.which?.push(radio);
        return h('label', {class: 'step'}, radio, h('span', {}, this.name(place)));
      })));
    const watchPlace = h('div', {class: 'watch'});
    this.list = h('ul', {class: 'plain readings'});
    this.card = h('article', {class: 'trial', 'aria-labelledby': 'pad-watch'},
      h('h3', {id: 'pad-watch'}, 'Your stopwatch'), choose, watchPlace, this.list);
    host.append(this.card);
    const room = new Room();
    this.watch = new Stopwatch(watchPlace, /** @type {any} */ (room));
    this.watch.paint();
    if (!room.sound) this.card.append(h('p', {class: 'hint'}, 'This browser rounds its clock: the stopwatch is not exact here.'));
    this.watch.addEventListener('reading', (/** @type {any} */ event) => this.take(event.detail));
  }

  /** @param {{seconds: number, sound: boolean}} detail */
  take({seconds, sound}) {
    const before = this.taken.filter(reading => reading.trial === this.current);
    if (before.length >= Math.max(1, this.options.watches)) this.taken = this.taken.filter(reading => reading !== before.at(-1));
    // There is no trial whose seconds start and stop could be.
    const reading = /** @type {Reading} */ (/** @type {any} */ ({trial: this.current, seconds, form: 'live', start: null, stop: null, sound}));
    this.readings = [...this.taken, reading];
    this.dispatchEvent(new Event('readings'));
  }

  /** What the watch has told, in the order of the readings. */
  get readings() { return this.taken; }
  set readings(readings) {
    this.taken = readings;
    this.list?.replaceChildren(...readings.map(reading => h('li', {},
      `${this.name(reading.trial - 1)}: ${reading.seconds.toFixed(2)} s `,
      this.closed ? '' : h('button', {type: 'button', class: 'quiet', onclick: () => {
        this.readings = this.taken.filter(one => one !== reading);
        this.dispatchEvent(new Event('readings'));
      }}, 'Take away', h('span', {class: 'unseen'}, ` the ${reading.seconds.toFixed(2)} seconds of ${this.name(reading.trial - 1)}`)))));
  }

  /** @param {number} place */
  name(place) {
    const way = this.trials[place]?.way;
    if (!way) return this.trials.length === 1 ? 'The trial' : `Trial ${place + 1}`;
    const before = this.trials.slice(0, place + 1).filter(trial => trial.way === way).length;
    const alone = this.trials.filter(trial => trial.way === way).length === 1;
    return alone ? way.charAt(0).toUpperCase() + way.slice(1) : `Trial ${before} (${way})`;
  }

  /** @param {number} place */
  number(place) { return place + 1; }
  /** Nobody here knows which way the child goes: readings are taken in order. */
  sideOf() { return null; }
  get counting() { return [...this.trials.keys()]; }
  /** Nothing plays here. */
  get playing() { return null; }
  /** Whether the watch has not told yet. */
  get running() { return this.watch?.state === 'running' && !this.closed; }
  /** One reading a trial, the first stretch's. */
  get handedIn() {
    return this.taken.filter((reading, i) => this.taken.findIndex(other => other.trial === reading.trial) === i);
  }

  close() {
    this.closed = true;
    this.watch?.disable();
    this.card?.querySelector('.watch')?.remove();
    this.card?.querySelector('fieldset')?.remove();
    this.readings = this.taken;
    if (this.list && !this.taken.length) this.list.replaceWith(h('p', {class: 'hint'}, 'You did not run the watch here.'));
  }

  replay() {}
  mark() {}
  destroy() { this.watch?.destroy(); }
}

/**
 * Where it is to be seen, and what to mind.
 * @param {import('./types').External} external
 */
export function outsideCard(external) {
  return h('section', {class: 'notice outside', 'aria-label': 'Where to watch'},
    h('h2', {}, external.kind === 'film' ? 'Watch the film where it is kept' : 'Watch the child who is there'),
    h('dl', {class: 'facts'},
      h('div', {}, h('dt', {}, 'Where'), h('dd', {}, external.find)),
      h('div', {}, h('dt', {}, 'How long'), h('dd', {}, `about ${count(external.minutes, 'minute')}`)),
      h('div', {}, h('dt', {}, 'Consent'), h('dd', {}, external.consent))),
    h('p', {}, external.caution));
}

/**
 * The trials of an item: those that are played or read, or a pad for what is seen outside.
 * @param {Element} host @param {import('./types').Case} known @param {import('./types').CaseItem} caseItem
 * @param {{poses: any, announce: (text: string) => void, item: string, watches: number, describedNote?: string, captions?: boolean}} options
 * @returns {import('./trials.js').ScoredTrials}
 */
export function trialsOf(host, known, caseItem, options) {
  if (!known.external) return new Trials(host, caseItem.trials, options);
  host.append(outsideCard(known.external));
  return new PadTrials(host, caseItem.trials, {watches: options.watches});
}
