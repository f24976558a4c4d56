// @ts-check
// The form in which a set is composed. What the draft exercises is asked of the site while it changes; nothing is in
// force before it was looked at and confirmed.

import { h, show, count, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, clearFault, faultAt, field, numberIn } from './fields.js';
import { coverStrip, summary } from './set_cover.js';

/** @typedef {{case: string, items: string[]}} Entry */
/** @typedef {{id: string, title: string, mode: string, demonstration: boolean, retired: boolean, instrument: string, entries: Entry[]}} Draft */
/** @typedef {{field: string | null, says: string}} Fault */

const pause = 350;

/** @returns {Draft} */
export const emptyDraft = (instrument = '') => ({id: '', title: '', mode: 'practice', demonstration: false, retired: false, instrument, entries: []});

/** A name for a file out of a title. @param {string} title */
const named = title => title.toLowerCase().normalize('NFKD').replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 60).replace(/-+$/, '');

const modes = [['practice', 'Practice: the reason comes after each item'], ['skills-check', 'A skills check: nothing is shown until it is handed in'],
  ['calibration', 'A calibration round: nothing is shown until the round closes']];

/**
 * @param {any} choices  what the site offers
 * @param {Draft} draft  to begin with
 * @param {{changing: boolean, asksStay: boolean, after: (said: string) => Promise<void>, instrument: (id: string) => void}} of
 */
export function setForm(choices, draft, of) {
  const known = new Map(choices.cases.map((/** @type {any} */ one) => [one.id, one]));
  let entries = draft.entries.map(one => ({case: one.case, items: [...one.items]}));
  let ownName = of.changing, asked = 0, timer = 0;
  const touched = new Set();

  const title = h('input', {id: 'title', maxlength: '100', autocomplete: 'off', value: draft.title});
  const name = h('input', {id: 'id', maxlength: '64', autocomplete: 'off', spellcheck: 'false', autocapitalize: 'none', value: draft.id, readonly: of.changing});
  const mode = h('select', {id: 'mode', disabled: of.asksStay}, modes.map(([value, words]) => h('option', {value}, words)));
  mode.value = draft.mode;
  const demonstration = h('input', {id: 'demonstration', type: 'checkbox', checked: draft.demonstration, disabled: of.asksStay});
  const demonstrationRow = h('p', {class: 'tick'}, h('label', {}, demonstration, ' A demonstration: shows what a check is like, and decides about nobody'));
  const chosen = h('ol', {class: 'entries'}), others = h('ul', {class: 'entries others'}), chosenFaults = h('div', {id: 'entries-problem', class: 'problem'});
  // Where the strip stands below the form, its first sentence stays in sight.
  const brief = h('p', {class: 'brief'});
  const strip = h('div', {class: 'strip-side'}), problem = h('div', {role: 'alert'}), trouble = h('div', {role: 'alert'}), outcome = h('div', {});

  /** @returns {Draft} */
  const now = () => ({id: name.value.trim(), title: title.value.trim(), mode: mode.value, demonstration: mode.value !== 'practice' && demonstration.checked,
    retired: draft.retired, instrument: choices.instrument, entries});

  /** Faults at their fields; of a field nobody has been at nothing is said yet. @param {Fault[]} faults @param {boolean} all */
  const sayFaults = (faults, all) => {
    for (const control of [title, name, mode]) clearFault(control);
    show(chosenFaults);
    for (const place of chosen.querySelectorAll('.entry-problem')) show(place);
    let first = /** @type {HTMLElement | null} */ (null);
    for (const fault of faults) {
      const control = [title, name, mode].find(one => one.id === fault.field);
      if (control) {
        if (!all && !touched.has(control.id)) continue;
        faultAt(control, fault.says, false);
        first ??= control;
        continue;
      }
      const entry = fault.field?.startsWith('entry-') ? chosen.children[Number(fault.field.slice(6))] : null;
      const place = entry?.querySelector('.entry-problem') ?? chosenFaults;
      if (place === chosenFaults && !all && !entries.length) continue;
      place.append(h('p', {}, fault.says));
      first ??= /** @type {HTMLElement | null} */ (entry?.querySelector('input') ?? null);
    }
    return first;
  };

  /** @param {any} found */
  const tellCover = found => {
    show(strip, coverStrip(found, mode.value));
    show(brief, summary(found.cover), ' ', h('a', {href: '#exercises'}, 'See all'));
  };

  const look = async () => {
    const at = ++asked;
    await attempt(problem, async () => {
      const found = await send('POST', '/api/own-sets/cover', now());
      // A later change has asked meanwhile.
      if (at !== asked) return;
      sayFaults(found.faults, false);
      tellCover(found);
    });
  };
  const changed = () => {
    show(outcome);
    demonstrationRow.hidden = mode.value === 'practice';
    clearTimeout(timer);
    timer = setTimeout(look, pause);
  };

  /** @param {any} one @param {Entry} entry */
  const pad = (one, entry) => h('div', {class: 'pad'}, choices.items.map((/** @type {any} */ item) => {
    const key = one?.keys[item.id];
    const box = h('input', {type: 'checkbox', checked: entry.items.includes(item.id), disabled: of.asksStay || (one !== undefined && !key), onchange: () => {
      entry.items = choices.items.map((/** @type {any} */ each) => each.id).filter((/** @type {string} */ id) => id === item.id ? box.checked : entry.items.includes(id));
      changed();
    }});
    const tells = `Item ${item.id}, ${item.name}: ${key ? `key ${key.key}${key.why_not ? `; decides nothing, ${key.why_not}` : ''}` : 'not shown by this case'}`;
    return h('label', {class: key?.why_not ? 'idle' : '', title: tells}, box, h('b', {'aria-hidden': 'true'}, item.id), h('span', {'aria-hidden': 'true', class: 'key'}, !key ? '' : /^[0-9]/.test(key.key) ? key.key : '\u2013'), h('span', {class: 'unseen'}, tells));
  }));

  /** @param {any} one */
  const caseWords = one => `${one.code}, ${one.age} years, ${one.share.replace('-', ' ')}`;
  /** @param {any} one */
  const caseHint = one => [one.second_readers ? `${count(one.second_readers, 'second reader')}` : 'no second reader: practice or demonstration only',
    one.met ? `met by ${count(one.met, 'rater')} of yours` : 'met by none of your raters'].join('; ');

  const parts = Math.max(1, Math.floor(choices.items.length / choices.standard.items_per_case));
  /** @param {number} place */
  const portion = place => choices.items.filter((/** @type {any} */ _, /** @type {number} */ i) => parts === 1 || i % parts === place % parts).map((/** @type {any} */ item) => item.id);

  /** @param {number} [focus]  the entry that takes the focus */
  const draw = (focus = -1) => {
    show(chosen, entries.map((entry, i) => {
      const one = /** @type {any} */ (known.get(entry.case));
      /** @param {string[]} items */
      const take = items => {
        entry.items = items.filter(id => !one || one.keys[id]);
        draw(i);
        changed();
      };
      return h('li', {}, h('fieldset', {'aria-describedby': `entry-${i}-problem`}, h('legend', {tabindex: '-1'}, one ? caseWords(one) : entry.case, h('span', {class: 'hint'}, ` ${entry.case}`)),
        one ? h('p', {class: 'hint'}, caseHint(one)) : null, pad(one, entry),
        h('div', {class: 'problem entry-problem', id: `entry-${i}-problem`}),
        of.asksStay ? null : h('p', {class: 'row'},
          h('button', {type: 'button', class: 'quiet small', onclick: () => take(portion(0).length === choices.items.length ? portion(0) : choices.items.map((/** @type {any} */ item) => item.id))}, 'All items', h('span', {class: 'unseen'}, ` of ${entry.case}`)),
          parts > 1 ? [...Array(parts).keys()].map(place => h('button', {type: 'button', class: 'quiet small', onclick: () => take(portion(place))},
            `${parts === 2 ? ['First', 'Second'][place] : place + 1}${parts === 2 ? ' half' : '. part'}`, h('span', {class: 'unseen'}, ` of the items of ${entry.case}`))) : null,
          h('button', {type: 'button', class: 'quiet small', onclick: () => {
            entries = entries.filter(each => each !== entry);
            draw();
            changed();
            focusOn(chosenHead);
          }}, 'Take out', h('span', {class: 'unseen'}, ` ${entry.case}`)))));
    }));
    const left = choices.cases.filter((/** @type {any} */ one) => !entries.some(entry => entry.case === one.id));
    show(others, left.map((/** @type {any} */ one) => h('li', {}, h('div', {}, h('b', {}, caseWords(one)), h('span', {class: 'hint'}, ` ${one.id}; ${caseHint(one)}`)),
      h('button', {type: 'button', class: 'quiet small', onclick: () => {
        entries.push({case: one.id, items: (mode.value === 'skills-check' ? portion(entries.length) : choices.items.map((/** @type {any} */ item) => item.id)).filter((/** @type {string} */ id) => one.keys[id])});
        draw(entries.length - 1);
        changed();
      }}, 'Add', h('span', {class: 'unseen'}, ` ${one.id}`)))));
    show(chosenHead, entries.length ? `Its ${count(entries.length, 'case')}` : 'No case yet');
    padHint.hidden = !entries.length;
    othersFold.hidden = of.asksStay || !left.length;
    if (focus >= 0) /** @type {HTMLElement | null} */ (chosen.children[focus]?.querySelector('legend'))?.focus();
  };
  const padHint = h('p', {class: 'hint'}, 'Tick the items to be scored. Below each stands its key; struck through: it decides nothing as things are.');
  const chosenHead = h('h3', {}), othersFold = h('details', {class: 'fold', open: !entries.length}, h('summary', {}, 'Add cases'), others);

  const drawing = () => {
    const group = h('select', {id: 'draw_group'}, h('option', {value: ''}, 'any cases, met or not'), choices.groups.map((/** @type {any} */ one) =>
      h('option', {value: one.id}, `cases that nobody in ${one.title} has met`)));
    if (choices.groups.length) group.value = choices.groups[0].id;
    const cases = h('input', {id: 'draw_cases', inputmode: 'numeric', maxlength: '3', autocomplete: 'off', value: String(choices.standard.looks[0] ?? 16)});
    const each = h('select', {id: 'draw_items'}, [...new Set([choices.standard.items_per_case, choices.items.length])].map(n =>
      h('option', {value: String(n)}, n === choices.items.length ? `all ${n} items` : `${n} items, in turns`)));
    const seed = h('input', {id: 'draw_seed', inputmode: 'numeric', maxlength: '9', autocomplete: 'off', value: '1'});
    const fault = h('div', {role: 'alert'}), done = h('p', {role: 'status', class: 'hint'});
    const host = h('details', {class: 'fold'}, h('summary', {}, 'Draw cases by the blueprint'),
      h('div', {class: 'form'}, h('p', {}, `A set as near to the blueprint of "${choices.standard.title}" as the cases allow: every item equally often, the levels balanced, few typical children. It takes the place of the cases chosen so far.`),
        field(group, 'From'), field(cases, 'How many cases'), field(each, 'Of each case'),
        field(seed, 'Number of the draw', 'The same number draws the same set again; another one another set.'), fault,
        h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => {
          const many = numberIn(cases, {name: 'How many cases', from: 1, to: 200});
          const number = many === undefined ? undefined : numberIn(seed, {name: 'Number of the draw', from: 1, to: 999999999});
          if (many === undefined || number === undefined) return;
          attempt(fault, async () => {
            const found = await send('POST', '/api/own-sets/draw', {...now(), draw_cases: many, draw_items: Number(each.value), draw_seed: number, ...(group.value ? {draw_group: group.value} : {})});
            entries = found.entries;
            draw();
            show(done, `Drawn from ${count(found.from, 'case')}.`);
            changed();
            focusOn(chosenHead);
          }, host);
        }}, 'Draw a set')), done));
    return host;
  };

  /** @param {any} found */
  const confirmation = found => {
    const why = h('input', {id: 'why', maxlength: '300', autocomplete: 'off'}), fault = h('div', {role: 'alert'});
    const head = h('h3', {}, 'What changes');
    const sent = now();
    const form = h('form', {novalidate: true, class: 'asking'}, head, found.changes.map((/** @type {string} */ one) => h('p', {}, one)),
      h('details', {class: 'fold'}, h('summary', {}, 'The set as a file'), h('pre', {class: 'source', tabindex: '0'}, found.text)),
      field(why, 'Why', 'Kept with it, in a sentence.'), fault,
      h('p', {class: 'answers'}, h('button', {type: 'submit'}, 'Put in force'), h('button', {type: 'button', class: 'quiet', onclick: () => { show(outcome); title.focus(); }}, 'Go on composing')));
    form.addEventListener('submit', event => {
      event.preventDefault();
      if (!why.value.trim()) return faultAt(why, 'Say why: it is kept with the set.');
      attempt(fault, async () => {
        await send('PUT', `/api/own-sets/${part(sent.id)}`, {...sent, why: why.value.trim(), confirm: found.confirm});
        await of.after(`"${sent.title}" is in force. ${sent.mode === 'calibration' ? 'A round can be opened with it.' : 'It can be given to a group.'}`);
      }, form);
    });
    show(outcome, form);
    focusOn(head);
  };

  const preview = () => {
    for (const [control, says] of /** @type {[HTMLInputElement, string][]} */ ([[title, 'Give the set a title.'], [name, 'Give the set a name: small letters, digits and hyphens.']]))
      if (!control.value.trim()) return faultAt(control, says);
    attempt(trouble, async () => {
      clearTimeout(timer);
      const at = ++asked, sent = now();
      const found = await send('POST', `/api/own-sets/${part(sent.id)}/preview`, sent);
      if (at !== asked) return;
      tellCover(found);
      if (found.confirm) {
        sayFaults([], true);
        return confirmation(found);
      }
      const first = sayFaults(found.faults, true);
      if (first) first.focus();
      else focusOn(chosenHead);
    });
  };

  for (const control of [title, name, mode, demonstration]) {
    control.addEventListener('blur', () => touched.add(control.id));
    control.addEventListener('input', () => {
      if (control === name) ownName = true;
      if (control === title && !ownName) name.value = named(title.value);
      changed();
    });
  }
  const instrument = choices.instruments.length > 1 && !of.changing ? h('select', {id: 'instrument'}, choices.instruments.map((/** @type {any} */ one) => h('option', {value: one.id}, one.title))) : null;
  if (instrument) {
    instrument.value = choices.instrument;
    instrument.addEventListener('change', () => of.instrument(instrument.value));
  }
  draw();
  changed();
  look();
  return h('div', {class: 'composer'},
    h('form', {class: 'composing', novalidate: true, onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); preview(); }},
      h('div', {class: 'form'}, instrument ? field(instrument, 'Scale') : null, field(title, 'Title', 'As raters see it.'),
        field(name, 'Name', of.changing ? 'The name stays. A set under another name is another set.' : 'Of its file: small letters, digits and hyphens. It stays as it is.'),
        field(mode, 'For'), demonstrationRow),
      of.asksStay ? h('p', {class: 'notice'}, 'Scores rest on this set, so its mode, cases and items stay as they are. To change them, compose a set under a new name.') : drawing(),
      chosenHead, padHint, chosenFaults, chosen, othersFold, problem, trouble,
      h('p', {class: 'actions'}, h('button', {type: 'submit'}, 'Preview')), outcome, brief),
    h('section', {class: 'beside', 'aria-labelledby': 'exercises'}, h('h2', {id: 'exercises', tabindex: '-1'}, 'What it exercises'), strip));
}

/** @param {string} [instrument] */
export const setChoices = instrument => get(`/api/own-sets/choices${instrument ? `?instrument=${part(instrument)}` : ''}`);
