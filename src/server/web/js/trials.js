// @ts-check
// The trials of an item: read, or played with the stopwatch beside them.

import { h } from './dom.js';
import { remember, remembered } from './frame.js';
import { momentWords } from './moment_words.js';
import { Player } from './player.js';
import { Stopwatch } from './stopwatch.js';

/** @typedef {import('./types').Trial} Trial */
/** @typedef {import('./types').Reading} Reading */

/**
 * What an answer's form and its page ask of the trials of an item; a pad for what is seen outside has it too.
 * @typedef {EventTarget & Pick<Trials, 'trials' | 'counting' | 'number' | 'name' | 'readings' | 'sideOf' | 'described' | 'playing' |
 *   'handedIn' | 'close' | 'replay' | 'mark' | 'destroy'> & {running?: boolean, options: {watch?: boolean, watches?: number, poses?: any}}} ScoredTrials
 *   running: a watch that has not told yet; options: those of one or the other
 */

/**
 * Events: 'readings' when the watch was stopped or a trial began anew.
 */
export class Trials extends EventTarget {
  /**
   * @param {Element} host
   * @param {Trial[]} trials
   * @param {{poses: any, announce: (text: string) => void, item: string, watches?: number, watch?: boolean, prefix?: string, name?: string,
   *   describedNote?: string, captions?: boolean}} options
   *   watch: false where nothing is timed; watches: how many stretches of a trial are timed; prefix: of ids, where a page has several; name: of the only trial;
   *   describedNote: what follows from the described form; captions: whether they may be had while a watch runs
   */
  constructor(host, trials, options) {
    super();
    this.trials = trials;
    // An item of which nothing is timed is looked at: no watch, and words with the picture.
    this.options = options.watches === 0 ? {...options, watch: false} : options;
    /** @type {Reading[]} */
    this.readings = [];
    /** The item is scored: what is played from now on is looked at, not timed. */
    this.closed = false;
    /** @type {Set<number>} trials that were taken in their described form, by place */
    this.described = new Set();
    /** @type {{card: HTMLElement, player: any, watch: any, build: ((described: boolean) => void) | null}[]} */
    this.cards = [];
    let number = 0;
    for (const [place, trial] of trials.entries()) {
      if (!trial.practice) number += 1;
      host.append(this.card(trial, place, number));
    }
  }

  /** Whether words go with the picture while a watch runs: where that is allowed, and wanted on this device. */
  get captioned() { return this.options.captions === true && remembered('captions') === 'on'; }

  /**
   * Off unless somebody wants it: whoever waits for the word times the word, not the child. In practice only, where
   * the figures are the rater's own; a check has the described form, which is told to the instructor.
   */
  captionSwitch() {
    const box = h('input', {type: 'checkbox', class: 'caption-switch', checked: this.captioned, onchange: () => {
      remember('captions', box.checked ? 'on' : null);
      for (const {card, player} of this.cards) {
        if (player) player.options.captions = this.captioned;
        const other = /** @type {HTMLInputElement | null} */ (card.querySelector('.caption-switch'));
        if (other) other.checked = box.checked;
      }
    }});
    return h('p', {class: 'tick'}, h('label', {}, box, ' Captions while I time: what is seen, in words below the picture'));
  }

  /** The trial's name for people. @param {number} place */
  name(place) {
    if (this.options.name) return this.options.name;
    const trial = this.trials[place];
    const way = trial.way ? ` (${trial.way})` : '';
    if (trial.practice) return `Practice trial${way}`;
    return `Trial ${this.number(place)}${way}`;
  }

  /** Among those that may count, from 1. @param {number} place */
  number(place) {
    return this.trials.slice(0, place + 1).filter(trial => !trial.practice).length;
  }

  /** Places of the trials that may count. */
  get counting() {
    return [...this.trials.keys()].filter(place => !this.trials[place].practice);
  }

  /** @param {Trial} trial @param {number} place @param {number} number */
  card(trial, place, number) {
    const id = `${this.options.prefix ?? 'trial'}-${place}`;
    const card = h('article', {class: 'trial', 'aria-labelledby': id},
      h(this.options.prefix ? 'h4' : 'h3', {id}, this.name(place),
        trial.practice ? h('span', {class: 'hint'}, ' does not count') : null));
    const entry = {card, player: /** @type {any} */ (null), watch: /** @type {any} */ (null),
      build: /** @type {((described: boolean) => void) | null} */ (null)};
    this.cards.push(entry);
    if (trial.written !== null && trial.written !== undefined) {
      card.append(h('p', {class: 'performance'}, trial.written));
      return card;
    }
    const stage = h('div', {class: 'stage'}), watchPlace = h('div', {class: 'watch'});
    const moments = h('details', {class: 'fold moments', hidden: true},
      h('summary', {}, 'The moments with their times'),
      h('ol', {class: 'moments-list'}, (trial.timeline ?? []).map(m => h('li', {}, h('b', {}, `${m.at.toFixed(1)} s`), ` ${momentWords(m)}`)),
        trial.end ? h('li', {}, h('b', {}, `${trial.end.toFixed(1)} s`), ' The trial ends.') : null));
    const note = h('p', {class: 'hint described-note', role: 'status'});
    const toggle = h('input', {type: 'checkbox', onchange: () => {
      moments.hidden = !toggle.checked;
      // Once the item is scored, what is played or read says nothing of how it was taken.
      if (!this.closed) {
        const tells = !trial.practice && (this.options.watch !== false || hasRule(trial));
        note.textContent = toggle.checked && tells ? this.options.describedNote ?? '' : '';
        if (toggle.checked && tells) this.described.add(place);
      }
      entry.build?.(toggle.checked);
    }});
    entry.build = described => {
      entry.watch?.destroy?.();
      entry.player?.destroy();
      stage.replaceChildren();
      watchPlace.replaceChildren();
      const player = new Player(stage, {
        timeline: trial.timeline ?? [], end: trial.end ?? trial.timeline?.at(-1)?.at ?? 0, poses: this.options.poses,
        views: viewsOf(this.options.item), captions: this.options.watch === false || this.closed || this.captioned,
        stepwise: lessMotion(), described, announce: this.options.announce,
      });
      entry.player = player;
      // Who asks for less motion while the page is open has it from the next playback on.
      for (const begun of ['started', 'replaying']) player.addEventListener(begun, () => { player.options.stepwise = lessMotion(); });
      player.addEventListener('started', () => {
        // One watch, one trial: what else plays or runs is stopped, and this trial's readings begin anew.
        for (const other of this.cards) if (other !== entry) {
          other.player?.stop();
          if (other.watch?.state === 'running') other.watch.reset();
        }
        if (this.closed) return;
        this.readings = this.readings.filter(reading => reading.trial !== number || trial.practice);
        this.dispatchEvent(new Event('readings'));
      });
      if (this.options.watch === false || this.closed) return;
      // While it plays the watch stays in reach of the thumb, however tall the pictures are.
      player.addEventListener('started', () => card.classList.add('timing'));
      for (const over of ['ended', 'voided', 'idle']) player.addEventListener(over, () => card.classList.remove('timing'));
      const watch = entry.watch = new Stopwatch(watchPlace, player);
      player.addEventListener('voided', () => {
        if (trial.practice || this.closed) return;
        this.readings = this.readings.filter(reading => reading.trial !== number);
        this.dispatchEvent(new Event('readings'));
      });
      watch.addEventListener('reading', (/** @type {any} */ event) => {
        if (trial.practice) return;
        const {seconds, start, stop, sound} = event.detail;
        // As many readings as there are stretches to time; a further one takes the place of the last.
        const before = this.readings.filter(reading => reading.trial === number);
        if (before.length >= Math.max(1, this.options.watches ?? 1))
          this.readings = this.readings.filter(reading => reading !== before.at(-1));
        this.readings.push({trial: number, seconds, form: this.described.has(place) ? 'described' : 'live', start, stop,
          sound: sound !== false});
        this.dispatchEvent(new Event('readings'));
      });
    };
    entry.build(false);
    // The ways to follow it come before what is to be followed: whoever does not see the picture meets them first.
    card.append(h('div', {class: 'ways'},
      h('p', {class: 'tick'}, h('label', {}, toggle, ' Described form: the moments in words, as they happen')),
      this.options.captions && this.options.watch !== false ? this.captionSwitch() : null), note, moments, stage, watchPlace);
    return card;
  }

  /** The name of the trial that plays and is timed; nothing when none does. */
  get playing() {
    const place = this.cards.findIndex(({player}) => player?.mode === 'live');
    return place < 0 || this.options.watch === false ? null : this.name(place);
  }

  /** What is handed in: one reading a trial, the first stretch's. */
  get handedIn() {
    return this.readings.filter((reading, i) => this.readings.findIndex(other => other.trial === reading.trial) === i);
  }

  /** Which way the child goes in the middle of what a reading timed; nothing where it has no side. @param {Reading} reading */
  sideOf(reading) {
    const place = this.counting.find(one => this.number(one) === reading.trial);
    const timeline = place === undefined ? null : this.trials[place].timeline;
    if (!timeline || typeof reading.start !== 'number' || typeof reading.stop !== 'number') return null;
    const middle = (reading.start + reading.stop) / 2;
    const pose = timeline.findLast(moment => moment.at <= middle && moment.poses.length)?.poses.at(-1) ?? '';
    return /^turning-(left|right)$/.exec(pose)?.[1] ?? null;
  }

  /** Takes the watches away: the item is scored. */
  close() {
    this.closed = true;
    for (const {card, player, watch} of this.cards) {
      watch?.disable();
      player?.stop();
      card.querySelector('.watch')?.remove();
      // Without a watch a playback always has its captions.
      card.querySelector('.caption-switch')?.closest('.tick')?.remove();
      if (player) player.options.captions = true;
    }
  }

  /** @param {number} place @param {number} from @param {number} rate */
  replay(place, from, rate) {
    const entry = this.cards[place];
    if (!entry?.player) return;
    for (const other of this.cards) if (other !== entry) other.player?.stop();
    entry.card.scrollIntoView({block: 'nearest', behavior: lessMotion() ? 'auto' : 'smooth'});
    entry.player.replay(from, rate);
  }

  /** @param {number} place */
  mark(place) {
    const entry = this.cards[place];
    if (!entry) return;
    entry.card.classList.add('decides');
    entry.card.querySelector('h3, h4')?.append(h('span', {class: 'tag'}, 'this one decides'));
  }

  destroy() {
    for (const {player, watch} of this.cards) {
      watch?.destroy?.();
      player?.destroy();
    }
  }
}

const lessMotion = () => matchMedia('(prefers-reduced-motion: reduce)').matches;

/** Whether a rule is read in it: the described form tells what it reads. @param {Trial} trial */
const hasRule = trial => (trial.timeline ?? []).some(moment => typeof moment.reach === 'number');

/**
 * What a front view hides: leaning back, a turn, a step ahead, a foot on the stool; and what is read off a rule.
 * @param {string} item @returns {('front' | 'side' | 'close')[]}
 */
function viewsOf(item) {
  if (item === '14') return ['side', 'close'];
  if (['5', '8', '10', '11', '13'].includes(item)) return ['front', 'side'];
  return ['1', '2', '12'].includes(item) ? ['side'] : ['front'];
}
