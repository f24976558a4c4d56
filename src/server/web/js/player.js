// @ts-check
// Plays a timeline in real time. What is drawn is a function of time, not of frames: a slow device drops
// pictures, never seconds. Time zero is the frame in which the first picture was drawn.

import {h, s} from './dom.js';
import {drawFigure, poseAt} from './figure.js';
import {heardAt, momentWords, seenWords, speaker, toldWords} from './moment_words.js';

/** @typedef {import('./types').Moment} Moment */
/**
 * @typedef {object} PlayerOptions
 * @property {Moment[]} timeline
 * @property {number} end          when the playback is over, seconds; what the last moment begins is always shown
 * @property {any} poses           what GET /api/poses gives; null: nothing is drawn
 * @property {('front' | 'side' | 'close')[]} [views]  close: the hand at the rule
 * @property {boolean} [captions]  says what is seen, in words, as it happens, where nothing is timed; a replay always does
 * @property {boolean} [stepwise]  one still picture a moment instead of motion
 * @property {boolean} [described] the moments are announced in words, for those who do not see the picture
 * @property {(text: string) => void} [announce]
 */

/** How long what the last moment begins may take to be seen, seconds. */
const afterwards = 1.6;
/** A gap between two frames that no trial survives, milliseconds. */
const longest_gap = 1000;
/** How long words that are said stay, seconds. */
const said_for = 3;

/** The coarsest clock on which hundredths of a second mean anything, milliseconds. */
export const coarsest_clock = 5;

/** The smallest step of the page's clock, milliseconds. */
export function clockStep() {
  const from = performance.now();
  let to = from;
  for (let i = 0; i < 2e6 && to === from; ++i) to = performance.now();
  return to - from;
}

/**
 * Events: 'started'; 'moment' ({index, moment}); 'ended' ({quality}); 'voided' ({why}); 'replaying'; 'idle'.
 */
export class Player extends EventTarget {
  /** @param {Element} host @param {PlayerOptions} options */
  constructor(host, options) {
    super();
    this.options = {views: /** @type {('front' | 'side' | 'close')[]} */ (['front']), captions: false, stepwise: false, described: false, announce: () => {}, ...options};
    /** @type {'idle' | 'live' | 'after' | 'replay'} after: the trial is over and the clock goes on */
    this.mode = 'idle';
    this.zero = 0;
    this.from = 0;
    this.rate = 1;
    this.frame = 0;
    /** The time of the picture that is shown, seconds. */
    this.drawnAt = -1;
    /** @type {number} the next moment to come, by place */
    this.next = 0;
    /** @type {number} the moment whose picture is shown, where motion is not wanted */
    this.shownMoment = -1;
    this.last = 0;
    this.saidUntil = 0;
    this.drift = 0;
    /** @type {number} the shortest gap between two frames, milliseconds */
    this.interval = Infinity;
    /** @type {WakeLockSentinel | undefined} */
    this.lock = undefined;
    this.over = Math.max(this.options.end, (this.options.timeline.at(-1)?.at ?? 0) + afterwards);
    const step = clockStep();
    /** Whether the clock of this browser is fine enough for hundredths of a second. */
    this.sound = step > 0 && step < coarsest_clock;
    this.quality = {frames: 0, dropped: 0, largestGap: 0, clockStep: step};

    this.pictures = (this.options.poses ? this.options.views : []).map((view) => ({
      view,
      svg: /** @type {SVGSVGElement} */ (s('svg', {class: `fig fig-${view}`, role: 'img',
        'aria-label': view === 'close' ? 'The hand at the rule, close by; the rule is in inches' : `The child, seen from the ${view}`})),
    }));
    this.said = h('p', {class: 'player-said'});
    this.caption = h('p', {class: 'player-caption'});
    this.note = h('p', {class: 'player-note', role: 'status'});
    this.button = h('button', {class: 'player-play', type: 'button', onclick: () => (this.playing ? this.stop() : this.play())}, 'Play');
    this.box = h('div', {class: 'player'},
      h('div', {class: 'player-pictures'}, this.pictures.map(({svg}) => svg)), this.said, this.caption,
      h('div', {class: 'player-controls'}, this.button, this.note));
    host.append(this.box);
    if (!this.sound) this.note.textContent = 'This browser rounds its clock: the stopwatch is not exact here.';

    this.hide = () => document.hidden && this.leave('The page was hidden.');
    this.away = () => this.leave('The page was left.');
    document.addEventListener('visibilitychange', this.hide);
    window.addEventListener('pagehide', this.away);
    this.show(0);
  }

  get playing() {
    return this.mode === 'live' || this.mode === 'replay';
  }

  /** Plays the trial from its start, at its real pace. */
  play() {
    this.begin('live', 0, 1);
  }

  /** Ends what is playing. A trial that is broken off does not count. */
  stop() {
    if (this.mode === 'live') this.discard('Broken off. Play it again from the start.');
    else if (this.mode === 'replay') this.rest();
  }

  /** Shows a trial again, without a watch. @param {number} from  seconds @param {number} rate  1, 0.5 or 0.25 */
  replay(from, rate = 1) {
    this.begin('replay', Math.max(0, from), rate);
  }

  destroy() {
    if (this.mode === 'live') this.discard('');
    cancelAnimationFrame(this.frame);
    document.removeEventListener('visibilitychange', this.hide);
    window.removeEventListener('pagehide', this.away);
    this.mode = 'idle';
    this.release();
    this.box.remove();
  }

  /** Seconds of the playback at the time of an event; only of a live trial. @param {number} timeStamp  milliseconds */
  timeOf(timeStamp) {
    return (timeStamp - this.zero) / 1000;
  }

  /** @param {'live' | 'replay'} mode @param {number} from @param {number} rate */
  begin(mode, from, rate) {
    cancelAnimationFrame(this.frame);
    if (this.mode === 'live') this.discard('');
    Object.assign(this, {mode, from, rate, zero: 0, last: 0, next: 0, drawnAt: -1, shownMoment: -1});
    while (this.next < this.options.timeline.length && this.options.timeline[this.next].at < from) this.next += 1;
    this.quality = {frames: 0, dropped: 0, largestGap: 0, clockStep: this.quality.clockStep};
    this.interval = Infinity;
    this.drift = Date.now() - performance.now();
    this.saidUntil = 0;
    this.said.textContent = '';
    this.caption.textContent = '';
    this.note.textContent = mode === 'replay' ? (rate === 1 ? 'Again, at the real pace.' : `Again, at ${rate === 0.5 ? 'half' : rate === 0.25 ? 'a quarter of' : rate} the pace.`) : '';
    this.button.textContent = mode === 'live' ? 'Break off' : 'Stop';
    this.button.classList.add('quiet');
    if (mode === 'live') navigator.wakeLock?.request('screen').then((lock) => this.keep(lock), () => {});
    else this.dispatchEvent(new CustomEvent('replaying'));
    this.frame = requestAnimationFrame((now) => this.tick(now));
  }

  /** @param {number} now  milliseconds, of the frame */
  tick(now) {
    if (!this.playing) return;
    const first = this.zero === 0;
    if (first) this.zero = now;
    else if (!this.keepUp(now)) return;
    this.last = now;
    const t = this.from + ((now - this.zero) / 1000) * this.rate;
    this.show(t);
    if (first && this.mode === 'live') this.dispatchEvent(new CustomEvent('started'));
    this.meet(t);
    if (t >= this.over) this.finish();
    else this.frame = requestAnimationFrame((later) => this.tick(later));
  }

  /** Counts frames; gives up a live trial whose clock or page stood still. @param {number} now */
  keepUp(now) {
    const gap = now - this.last;
    this.quality.frames += 1;
    this.quality.largestGap = Math.max(this.quality.largestGap, gap);
    if (gap > 4) this.interval = Math.min(this.interval, gap);
    if (Number.isFinite(this.interval)) this.quality.dropped += Math.max(0, Math.round(gap / this.interval) - 1);
    if (this.mode !== 'live') return true;
    const jump = Math.abs(Date.now() - performance.now() - this.drift);
    if (gap <= longest_gap && jump <= longest_gap) return true;
    this.leave(gap > longest_gap ? 'The picture stood still.' : 'The clock of this device jumped.');
    return false;
  }

  /** Draws the picture of an instant. @param {number} t */
  show(t) {
    const {timeline, poses, stepwise} = this.options;
    if (!poses) return;
    let at = t;
    if (stepwise) {
      const passed = timeline.findLastIndex((moment) => moment.at <= t);
      if (passed === this.shownMoment && this.drawnAt >= 0) return;
      this.shownMoment = passed;
      if (passed >= 0) at = timeline[passed].at + this.stillOf(timeline[passed]);
    }
    const state = poseAt(timeline, at, poses);
    for (const {svg, view} of this.pictures) drawFigure(svg, state, {view});
    this.drawnAt = t;
  }

  /** @param {Moment} moment */
  stillOf(moment) {
    const {words} = this.options.poses;
    const all = [...moment.poses, ...moment.contacts, ...moment.helpers, ...moment.events];
    return Math.max(0.05, ...all.map((word) => words[word]?.still ?? words[words[word]?.mirrors]?.still ?? 0));
  }

  /** Passes what has come up to an instant. @param {number} t */
  meet(t) {
    const {timeline, described, announce} = this.options;
    // Words at the very moment that is to be timed would be timed in place of the figure.
    const worded = this.options.captions || described || this.mode === 'replay';
    while (this.next < timeline.length && timeline[this.next].at <= t) {
      const index = this.next;
      const moment = timeline[index];
      this.next = index + 1;
      const heard = heardAt(moment);
      if (heard) {
        this.said.replaceChildren(h('span', {class: 'player-who'}, speaker(heard.who)), ` ${heard.words}`);
        this.saidUntil = moment.at + said_for;
      }
      const words = worded ? seenWords(moment) : toldWords(moment);
      if (worded || moment.helpers.length) this.caption.textContent = words;
      if (described) announce(momentWords(moment));
      this.dispatchEvent(new CustomEvent('moment', {detail: {index, moment}}));
    }
    if (t > this.saidUntil && this.said.firstChild) this.said.textContent = '';
  }

  finish() {
    const live = this.mode === 'live';
    this.mode = live ? 'after' : 'idle';
    this.button.textContent = 'Play again';
    this.button.classList.remove('quiet');
    this.note.textContent = live ? 'The trial is over.' : '';
    this.release();
    this.dispatchEvent(live ? new CustomEvent('ended', {detail: {quality: {...this.quality}}}) : new CustomEvent('idle'));
  }

  /** @param {string} why */
  leave(why) {
    if (this.mode === 'live') this.discard(`${why} This trial does not count; play it again from the start.`);
    else if (this.mode === 'replay') this.rest();
  }

  /** @param {string} why */
  discard(why) {
    this.rest();
    this.note.textContent = why;
    this.dispatchEvent(new CustomEvent('voided', {detail: {why}}));
  }

  rest() {
    const replayed = this.mode === 'replay';
    cancelAnimationFrame(this.frame);
    this.mode = 'idle';
    this.button.textContent = 'Play';
    this.button.classList.remove('quiet');
    this.said.textContent = '';
    this.caption.textContent = '';
    this.note.textContent = '';
    this.release();
    this.drawnAt = -1;
    if (!replayed) this.show(0);
    else this.dispatchEvent(new CustomEvent('idle'));
  }

  /** @param {WakeLockSentinel} lock */
  keep(lock) {
    if (this.mode === 'live') this.lock = lock;
    else lock.release().catch(() => {});
  }

  release() {
    this.lock?.release().catch(() => {});
    this.lock = undefined;
  }
}
