// @ts-check
// The form for what was seen, made from the instrument: what has no usual value first, the rest folded away
// with its usual value in words.

import { h } from './dom.js';

/** @typedef {import('./types').Observation} Observation */
/** @typedef {import('./types').InstrumentItem} Item */
/** @typedef {import('./types').Instrument} Instrument */

/** @param {Observation} one */
const isNumber = one => !['ordered', 'unordered'].includes(one.kind);

/** A unit in words, for those who hear the form. @type {Record<string, string>} */
const unitWords = {s: 'seconds', in: 'inches', cm: 'centimeters', deg: 'degrees', '°': 'degrees'};

/** @param {Observation} one @param {string} id */
function words(one, id) {
  if (isNumber(one)) return id;
  return one.values?.find(value => value.id === id)?.words ?? id;
}

export class ObservationForm extends EventTarget {
  /**
   * @param {Element} host
   * @param {Instrument} instrument
   * @param {Item} item
   */
  constructor(host, instrument, item) {
    super();
    this.item = item;
    /** @type {Record<string, {one: Observation, input?: HTMLInputElement, unit?: HTMLSelectElement, radios?: HTMLInputElement[],
     *   from?: HTMLElement, problem: HTMLElement}>} */
    this.fields = {};
    /** @type {Set<string>} numbers that were typed, not taken from the watch */
    this.byHand = new Set();
    this.mean = item.trials.counts === 'mean';
    /** @type {HTMLElement[]} */
    const first = [];
    /** @type {HTMLElement[]} */
    const folded = [];
    for (const id of item.observe) {
      const one = instrument.observations[id];
      if (!one) continue;
      (one.usual.length ? folded : first).push(isNumber(one) ? this.number(id, one) : this.fact(id, one));
    }
    this.usual = h('p', {class: 'as-usual'});
    this.fold = h('details', {class: 'fold'},
      h('summary', {}, this.summary = h('span', {}, this.asUsual = first.length ? 'Everything else was as usual' : 'Everything was as usual')), ...folded);
    host.append(...first, ...(folded.length ? [this.usual, this.fold] : []));
    this.sayUsual();
  }

  /** The durations that a stopwatch can fill, in order. */
  get durations() {
    return Object.keys(this.fields).filter(id => this.fields[id].one.kind === 'duration');
  }

  /** @param {string} id @param {Observation} one */
  number(id, one) {
    const field = `see-${id}`;
    const units = one.kind === 'length' ? ['in', 'cm'] : one.unit ? [one.unit] : [];
    const input = h('input', {id: field, inputmode: 'decimal', autocomplete: 'off', class: 'number', maxlength: '10',
      'aria-describedby': `${field}-from ${field}-problem`,
      value: one.usual.length === 1 ? String(parseFloat(one.usual[0])) : '',
      oninput: () => { this.byHand.add(id); this.changed(); }});
    const unit = units.length > 1
      ? h('select', {'aria-label': 'Unit', onchange: () => { this.byHand.add(id); this.changed(); }},
        units.map(u => h('option', {value: u}, unitWords[u] ?? u)))
      : undefined;
    if (unit && one.unit) unit.value = one.unit;
    const from = h('span', {class: 'hint', id: `${field}-from`},
      one.usual.length > 1 ? `Left empty: ${one.usual.map(u => parseFloat(u)).join(' or ')}, as usual.` : '');
    const problem = h('span', {class: 'problem', id: `${field}-problem`});
    this.fields[id] = {one, input, unit, from, problem};
    return h('p', {class: 'field', id: `field-${id}`},
      h('label', {for: field}, one.ask, this.mean && !one.usual.length ? ' (The mean of the trials.)' : ''),
      h('span', {class: 'with-unit'}, input, unit ?? (units.length ? h('span', {}, unitWords[units[0]] ?? units[0]) : '')),
      from, problem);
  }

  /** @param {string} id @param {Observation} one */
  fact(id, one) {
    const name = `see-${id}`;
    const possible = this.item.possible[id];
    const values = (one.values ?? []).filter(value => !possible || possible.includes(value.id));
    const usual = one.usual.filter(u => values.some(value => value.id === u));
    const several = usual.length > 1;
    const options = [
      ...(several ? [{id: '', words: usual.map(u => words(one, u)).join(', or '), usual: true}] : []),
      ...values.map(value => ({...value, usual: !several && usual[0] === value.id})),
    ];
    /** @type {HTMLInputElement[]} */
    const radios = [];
    const problem = h('span', {class: 'problem', id: `${name}-problem`});
    const set = h('fieldset', {class: 'fact', id: `field-${id}`, 'aria-describedby': `${name}-problem`},
      h('legend', {}, one.ask),
      options.map(option => {
        const radio = h('input', {type: 'radio', name, value: option.id, checked: option.usual, onchange: () => this.changed()});
        if (option.usual) radio.dataset.usual = '1';
        radios.push(radio);
        return h('label', {class: 'choice'}, radio, h('span', {}, option.words),
          option.usual ? h('span', {class: 'tag'}, 'as usual') : null);
      }), problem);
    this.fields[id] = {one, radios, problem};
    return set;
  }

  changed() {
    this.sayUsual();
    this.dispatchEvent(new Event('change'));
  }

  /** What the closed fold takes for granted, and what was changed in it. */
  sayUsual() {
    /** @type {string[]} */
    const usual = [];
    /** @type {string[]} */
    const other = [];
    for (const [id, {one, input, radios}] of Object.entries(this.fields)) {
      if (!one.usual.length) continue;
      if (radios) {
        const picked = radios.find(radio => radio.checked);
        const text = picked?.value ? words(one, picked.value) : one.usual.map(u => words(one, u)).join(', or ');
        (picked && !picked.dataset.usual ? other : usual).push(text);
      } else if (input && this.byHand.has(id) && input.value.trim()) {
        other.push(`${one.ask} ${input.value.trim()}`);
      }
    }
    this.summary.textContent = other.length ? 'Everything else, and what you changed' : this.asUsual;
    this.usual.replaceChildren(
      ...(other.length ? [h('strong', {}, 'Not as usual: '), other.join('; ') + '. '] : []),
      usual.length ? `Taken as usual: ${usual.join('; ')}.` : '');
  }

  /**
   * Puts the watch's reading in, unless a number was typed there.
   * @param {string} id
   * @param {number | null} seconds
   * @param {string} from  where it comes from, in words
   */
  fromWatch(id, seconds, from) {
    const field = this.fields[id];
    if (!field?.input || this.byHand.has(id)) return;
    field.input.value = seconds === null ? '' : seconds.toFixed(2);
    if (field.from) field.from.textContent = seconds === null ? '' : from;
  }

  /** What is to be kept of a form that is not saved yet. */
  draft() {
    /** @type {Record<string, string>} */
    const numbers = {};
    /** @type {Record<string, string>} */
    const facts = {};
    for (const [id, {input, unit, radios}] of Object.entries(this.fields)) {
      if (input && this.byHand.has(id)) numbers[id] = `${input.value} ${unit?.value ?? ''}`.trim();
      const picked = radios?.find(radio => radio.checked);
      if (picked && !picked.dataset.usual) facts[id] = picked.value;
    }
    return {numbers, facts, byHand: [...this.byHand]};
  }

  /** @param {{numbers: Record<string, string>, facts: Record<string, string>}} kept */
  restore(kept) {
    for (const [id, text] of Object.entries(kept.numbers)) {
      const field = this.fields[id];
      if (!field?.input) continue;
      const [number, unit] = text.split(' ');
      field.input.value = number;
      if (unit && field.unit) field.unit.value = unit;
      this.byHand.add(id);
    }
    for (const [id, value] of Object.entries(kept.facts))
      for (const radio of this.fields[id]?.radios ?? []) radio.checked = radio.value === value;
    this.sayUsual();
  }

  /**
   * An answer that was given before.
   * @param {Record<string, string>} observations
   * @param {number[]} [readings]  of the watch: a number that is one of them was not typed
   */
  restoreAnswer(observations, readings = []) {
    /** @type {Record<string, string>} */
    const numbers = {};
    /** @type {Record<string, string>} */
    const facts = {};
    for (const [id, text] of Object.entries(observations)) {
      const field = this.fields[id];
      if (!field) continue;
      if (!field.input) facts[id] = text;
      else if (field.one.usual.length !== 1 || parseFloat(text) !== parseFloat(field.one.usual[0])) numbers[id] = text;
    }
    this.restore({numbers, facts});
    for (const id of this.durations) if (readings.includes(parseFloat(observations[id] ?? ''))) this.byHand.delete(id);
  }

  /** @returns {{observations: Record<string, string>, problems: {id: string, field: string, says: string}[]}} */
  read() {
    /** @type {Record<string, string>} */
    const observations = {};
    /** @type {{id: string, field: string, says: string}[]} */
    const problems = [];
    for (const [id, {one, input, unit, radios, problem}] of Object.entries(this.fields)) {
      problem.textContent = '';
      let says = '';
      if (input) {
        const text = input.value.trim().replace(',', '.');
        if (!text && !one.usual.length) says = one.kind === 'duration' ? 'Give the seconds: run the stopwatch, or type them.'
          : 'Give a number.';
        else if (text && !/^\d+(\.\d+)?$/.test(text)) says = 'This is no number. An example: 12.5';
        else if (text && one.kind === 'count' && !/^\d+$/.test(text)) says = 'Give a whole number.';
        else if (text) {
          const symbol = unit?.value ?? one.unit ?? '';
          const top = parseFloat(String(one.to ?? '')), bottom = parseFloat(String(one.from ?? ''));
          const value = Number(text) / (symbol === 'cm' && one.unit === 'in' ? 2.54 : 1);
          if (value > top) says = `At most ${one.to}.`;
          else if (value < bottom) says = `At least ${one.from}.`;
          else observations[id] = `${Number(text)} ${symbol}`.trim();
        }
        input.setAttribute('aria-invalid', says ? 'true' : 'false');
      } else {
        const picked = radios?.find(radio => radio.checked);
        if (!picked && !one.usual.length) says = 'Pick what you saw.';
        // What was left as usual is said too: an answer without a word about it would tell of no seeing. Where
        // several values are usual, which one follows from the rest.
        else if (picked?.value) observations[id] = picked.value;
      }
      if (says) {
        problem.textContent = says;
        problems.push({id, field: radios ? radios[0]?.id || `field-${id}` : `see-${id}`, says: `${one.ask} ${says}`});
        if (one.usual.length) this.fold.open = true;
      }
    }
    return {observations, problems};
  }
}
