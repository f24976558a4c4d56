// @ts-check
// The rater's stopwatch. A press counts at the time of its own event, on the clock the figure runs on, and not
// when the page got round to handling it. What lags at start and stop alike cancels.

import {h} from './dom.js';

/** An event's time further than this from the page's clock is not on that clock, milliseconds. */
const strangest = 2000;
/** A gap between frames over which a reading is called unsound, milliseconds. */
const unsound_gap = 250;

/** As a stopwatch shows it: hundredths that are full. @param {number} milliseconds */
const hundredths = (milliseconds) => Math.floor(milliseconds / 10 + 1e-6) / 100;

/** @param {EventTarget | null} target @param {Element} own */
const takesSpace = (target, own) =>
  target instanceof Element && !own.contains(target) && !target.closest('.player') &&
  target.closest('input, select, textarea, button, summary, a, [contenteditable], [role="button"]') !== null;

/** Events: 'reading' ({seconds, start, stop, sound}). */
export class Stopwatch extends EventTarget {
  /**
   * @param {Element} host
   * @param {import('./player.js').Player} player
   */
  constructor(host, player) {
    super();
    this.player = player;
    this.off = false;
    /** @type {'ready' | 'running' | 'stopped'} */
    this.state = 'ready';
    this.startedAt = 0;
    this.soundStart = true;
    this.face = h('output', {class: 'watch-face', 'aria-label': 'Stopwatch, seconds', 'aria-live': 'off', tabindex: '-1'}, '0.00');
    this.button = h('button', {class: 'watch-press', type: 'button', disabled: true,
      onpointerdown: (/** @type {PointerEvent} */ event) => event.button === 0 && this.press(event),
      // A keyboard or an assistive device clicks without a pointer: detail is 0.
      onclick: (/** @type {MouseEvent} */ event) => event.detail === 0 && this.press(event)}, 'Start');
    this.again = h('button', {class: 'watch-reset quiet', type: 'button', disabled: true, onclick: () => this.reset()}, 'Reset');
    this.says = h('p', {class: 'watch-says', role: 'status'});
    this.box = h('div', {class: 'watch-box'}, this.face, h('div', {class: 'watch-buttons'}, this.button, this.again), this.says,
      h('p', {class: 'watch-hint'}, 'Once the trial plays, the button or the space bar starts and stops the watch.'));
    host.append(this.box);

    this.key = (/** @type {KeyboardEvent} */ event) => {
      if (event.code !== 'Space' || event.ctrlKey || event.altKey || event.metaKey) return;
      if (!this.open || takesSpace(event.target, this.box) || event.target === this.again) return;
      event.preventDefault();
      if (event.type === 'keydown' && !event.repeat) this.press(event);
    };
    document.addEventListener('keydown', this.key);
    document.addEventListener('keyup', this.key);
    this.started = () => {
      this.reset();
      if (!this.off) this.button.focus({preventScroll: true});
    };
    this.refresh = () => this.paint();
    this.lost = () => {
      this.reset();
      this.paint();
    };
    player.addEventListener('started', this.started);
    player.addEventListener('ended', this.refresh);
    player.addEventListener('voided', this.lost);
    player.addEventListener('replaying', this.lost);
    player.addEventListener('idle', this.refresh);
  }

  /** Whether a press means anything now. */
  get open() {
    if (this.off) return false;
    return this.player.mode === 'live' || (this.player.mode === 'after' && this.state === 'running');
  }

  /** Back to zero. */
  reset() {
    this.state = 'ready';
    cancelAnimationFrame(this.frame ?? 0);
    this.face.textContent = '0.00';
    this.says.textContent = '';
    this.paint();
  }

  /** Takes the watch away for good: the item is scored. */
  disable() {
    this.off = true;
    cancelAnimationFrame(this.frame ?? 0);
    this.paint();
  }

  destroy() {
    this.disable();
    document.removeEventListener('keydown', this.key);
    document.removeEventListener('keyup', this.key);
    this.player.removeEventListener('started', this.started);
    this.player.removeEventListener('ended', this.refresh);
    this.player.removeEventListener('voided', this.lost);
    this.player.removeEventListener('replaying', this.lost);
    this.player.removeEventListener('idle', this.refresh);
    this.box.remove();
  }

  /** @param {Event} event */
  press(event) {
    if (!this.open) return;
    const now = performance.now();
    const own = event.timeStamp > 0 && Math.abs(now - event.timeStamp) < strangest;
    const at = own ? event.timeStamp : now;
    if (this.state === 'running') this.halt(at, own);
    else this.run(at, own);
    this.paint();
  }

  /** @param {number} at @param {boolean} own */
  run(at, own) {
    this.state = 'running';
    this.startedAt = at;
    this.soundStart = own;
    this.says.textContent = 'The watch runs.';
    const turn = () => {
      if (this.state !== 'running') return;
      this.face.textContent = hundredths(Math.max(0, performance.now() - this.startedAt)).toFixed(2);
      this.frame = requestAnimationFrame(turn);
    };
    turn();
  }

  /** @param {number} at @param {boolean} own */
  halt(at, own) {
    this.state = 'stopped';
    cancelAnimationFrame(this.frame ?? 0);
    const seconds = hundredths(Math.max(0, at - this.startedAt));
    this.face.textContent = seconds.toFixed(2);
    const sound = this.player.sound && this.soundStart && own && this.player.quality.largestGap <= unsound_gap;
    this.says.textContent = `${seconds.toFixed(2)} seconds.${sound ? '' : ' This device could not keep exact time.'}`;
    const round = (/** @type {number} */ x) => Math.round(1000 * x) / 1000;
    this.dispatchEvent(new CustomEvent('reading', {detail: {
      seconds, start: round(this.player.timeOf(this.startedAt)), stop: round(this.player.timeOf(at)), sound,
    }}));
  }

  paint() {
    const held = document.activeElement;
    this.button.disabled = !this.open;
    this.button.textContent = this.state === 'running' ? 'Stop' : this.state === 'stopped' ? 'Start again' : 'Start';
    this.button.classList.toggle('watch-running', this.state === 'running');
    this.again.disabled = this.off || this.state === 'ready';
    // A button that goes out under the focus would drop it: the reading takes it, on which a late press does nothing.
    if ((held === this.button && this.button.disabled) || (held === this.again && this.again.disabled))
      (this.button.disabled ? this.face : this.button).focus({preventScroll: true});
  }
}
