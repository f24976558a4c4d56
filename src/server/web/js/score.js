// @ts-check
// The score: the levels with their criteria in words, and the words that say why there is no level to give.

import { h } from './dom.js';
import { remembered, remember } from './frame.js';

/** @typedef {import('./types').Instrument} Instrument */
/** @typedef {import('./types').InstrumentItem} Item */

/** How sure, in four steps, as a probability of being right. */
const sureSteps = [
  {value: '0.3', words: 'a guess'}, {value: '0.5', words: 'half sure'},
  {value: '0.75', words: 'rather sure'}, {value: '0.95', words: 'sure'},
];

export class ScorePad extends EventTarget {
  /** @param {Element} host @param {Instrument} instrument @param {Item} item @param {boolean} given */
  constructor(host, instrument, item, given) {
    super();
    /** @type {HTMLInputElement[]} */
    this.radios = [];
    const radio = (/** @type {string} */ value) => {
      const input = h('input', {type: 'radio', name: 'score', value, onchange: () => this.dispatchEvent(new Event('change'))});
      this.radios.push(input);
      return input;
    };
    const levels = item.levels.map(level => h('label', {class: 'level'}, radio(level.label),
      h('span', {class: 'digit'}, level.label), h('span', {class: 'says'}, level.says)));
    const others = instrument.statuses.filter(status => status.word !== 'observed').map(status =>
      h('label', {class: 'choice'}, radio(`status:${status.word}`), h('span', {},
        h('b', {}, status.word.replaceAll('-', ' ')), `: ${status.means}`)));
    const on = h('input', {type: 'checkbox', checked: remembered('keys') !== 'off',
      onchange: () => remember('keys', on.checked ? null : 'off')});
    this.problem = h('p', {class: 'problem', id: 'score-problem'});
    this.others = h('details', {class: 'fold', open: !given}, h('summary', {}, 'No level to give'),
      h('p', {class: 'hint'}, 'None of these is a 0.'), others);
    this.group = h('fieldset', {class: 'score', id: 'score', tabindex: '-1', 'aria-describedby': 'score-problem'},
      h('legend', {}, 'Your score'), h('div', {class: 'levels'}, levels), this.others, this.problem,
      h('p', {class: 'tick keys'}, h('label', {}, on, ` Keys ${item.levels.map(l => l.label).filter(l => l.length === 1).sort()[0]} to ${
        item.levels.map(l => l.label).filter(l => l.length === 1).sort().at(-1)} pick a score`)));
    /** @type {HTMLInputElement[]} */
    this.sure = [];
    const sureness = h('fieldset', {class: 'sure'}, h('legend', {}, 'How sure are you? ', h('span', {class: 'hint'}, '(if you like)')),
      h('div', {class: 'row'}, sureSteps.map(step => {
        const input = h('input', {type: 'radio', name: 'sure', value: step.value, onchange: () => this.dispatchEvent(new Event('change'))});
        this.sure.push(input);
        return h('label', {class: 'step'}, input, h('span', {}, step.words));
      })));
    host.append(this.group, sureness);
  }

  get value() { return this.radios.find(radio => radio.checked)?.value ?? null; }
  set value(value) {
    for (const radio of this.radios) radio.checked = radio.value === value;
    if (value?.startsWith('status:')) this.others.open = true;
  }
  get sureness() { return this.sure.find(radio => radio.checked)?.value ?? null; }
  set sureness(value) { for (const radio of this.sure) radio.checked = radio.value === value; }

  /**
   * A single key, unless somebody types or switched it off (WCAG 2.1.4).
   * @param {KeyboardEvent} event
   */
  key(event) {
    if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    if (remembered('keys') === 'off') return;
    const target = /** @type {HTMLElement} */ (event.target);
    const types = target instanceof HTMLInputElement && !['radio', 'checkbox', 'button'].includes(target.type);
    if (types || target instanceof HTMLSelectElement || target instanceof HTMLTextAreaElement || target.isContentEditable) return;
    const radio = this.radios.find(one => one.value === event.key);
    if (!radio) return;
    event.preventDefault();
    radio.checked = true;
    radio.focus();
    this.dispatchEvent(new Event('change'));
  }

  /** @param {string} says */
  say(says) { this.problem.textContent = says; }
}
