// @ts-check
// For instructors: what is arranged with one member of a group, and answers whose trials were taken in their
// described form.

import { h, count, dateTime, modeWords, focusOn } from './dom.js';
import { send, part } from './api.js';
import { attempt, faultAt, field, numberIn } from './fields.js';
import { casePath } from './instructor.js';

const units = /** @type {[number, string, string][]} */ ([[1440, 'day', 'days'], [60, 'hour', 'hours'], [1, 'minute', 'minutes']]);

/** "2 days", "90 minutes". @param {number} minutes */
export function longer(minutes) {
  const [of, one, many] = units.find(([size]) => minutes >= size && minutes % size === 0) ?? units[2];
  return count(minutes / of, one, many);
}

/** @param {{more_minutes: number, described: boolean}} one */
export const arrangedWords = one => [one.more_minutes ? `${longer(one.more_minutes)} more after a set closes` : '',
  one.described ? 'trials in their described form are accepted as they come' : ''].filter(Boolean).join('; ');

/**
 * What is arranged, and the form that changes it.
 * @param {any} page @param {string} at @param {() => Promise<void>} reload
 */
export function arrangement(page, at, reload) {
  const now = page.arrangement;
  const unit = units.find(([size]) => now.more_minutes >= size && now.more_minutes % size === 0) ?? units[1];
  const problem = h('div', {role: 'alert'});
  const more = h('input', {id: 'more_minutes', inputmode: 'numeric', maxlength: '6', autocomplete: 'off', value: String(now.more_minutes / unit[0])});
  const of = h('select', {id: 'more_unit'}, units.map(one => h('option', {value: String(one[0]), selected: one === unit}, one[2])));
  const described = h('input', {type: 'checkbox', id: 'described', checked: now.described});
  const form = h('form', {class: 'form', novalidate: true},
    field(more, 'More time', 'A set given to this group stays open to this rater for so long after it closed for the others; 0 for none.'),
    field(of, 'in'),
    h('p', {class: 'tick'}, h('label', {}, described, ' Trials in their described form are accepted as they come')),
    h('p', {class: 'hint'}, 'For whoever cannot use the moving picture: the description gives the times, so such trials never enter the stopwatch figures. What is arranged holds from now on, for every answer in a skills check or a round. The reason is not asked and not kept.'),
    problem, h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'Arrange this')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const size = Number(of.value);
    const n = numberIn(more, {name: 'More time', from: 0, to: Math.floor(527040 / size)});
    if (n === undefined) return;
    attempt(problem, async () => {
      await send('PUT', `${at}/arrangement`, {more_minutes: (n ?? 0) * size, described: described.checked});
      await reload();
      focusOn(document.getElementById('arranged'));
    }, form);
  });
  const says = arrangedWords(now);
  return [h('p', {}, says ? `${says.charAt(0).toUpperCase()}${says.slice(1)}.` : 'Nothing: the time and the form that everybody has.',
    says && now.at ? h('span', {class: 'hint'}, ` Arranged ${dateTime(now.at)}${now.by ? ` by ${now.by}` : ''}.`) : null),
  h('details', {class: 'fold no-print'}, h('summary', {}, says ? 'Change what is arranged' : 'Arrange more time, or the described form'), form)];
}

/** @param {any} one */
function standingWords(one) {
  const by = one.decided?.accepted !== null && one.decided ? `${one.decided.by ? ` by ${one.decided.by}` : ''}, ${dateTime(one.decided.at)}: \u201c${one.decided.why}\u201d` : '';
  if (one.standing === 'accepted') return by ? `Accepted${by}` : 'Accepted as it came, as arranged';
  if (one.standing === 'not-accepted') return `Not accepted${by}. It counts as not given.`;
  return 'Not accepted yet. It counts as given, and \u201cready\u201d waits for it.';
}

/**
 * Answers whose trials were taken in their described form. Nothing where there is none.
 * @param {any} page @param {string} group @param {string} at @param {() => Promise<void>} reload
 */
export function described(page, group, at, reload) {
  const all = /** @type {any[]} */ (page.described);
  if (!all.length) return null;
  const open = all.filter(one => one.standing === 'open' && !one.settled);
  const problem = h('div', {role: 'alert'});
  /** @param {any[]} which @param {boolean | null} accepted @param {string} why @param {Element} near */
  const decide = (which, accepted, why, near) => attempt(near, async () => {
    for (const one of which)
      await send('PUT', `${at}/described/${part(one.sitting)}/${part(one.case)}/${part(one.item)}`, {revision: one.revision, accepted, ...(why ? {why} : {})});
    await reload();
    focusOn(document.getElementById('from-descriptions'));
  });
  /** @param {any[]} which @param {string} name @param {string} of */
  const form = (which, name, of) => {
    const fault = h('div', {role: 'alert'});
    const why = h('input', {id: `why-${name}`, maxlength: '180', autocomplete: 'off'});
    const say = (/** @type {boolean} */ accepted) => {
      if (!why.value.trim()) return faultAt(why, 'Say why in a few words.');
      return decide(which, accepted, why.value.trim(), fault);
    };
    return h('form', {class: 'form', novalidate: true, onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); say(true); }},
      field(why, 'Why', 'In a few words; the rater can read them. No diagnosis.'), fault,
      h('p', {class: 'actions'}, h('button', {type: 'submit'}, which.length > 1 ? `Accept all ${which.length}` : 'Accept', h('span', {class: 'unseen'}, ` ${of}`)),
        h('button', {type: 'button', class: 'quiet', onclick: () => say(false)}, which.length > 1 ? 'Accept none of them' : 'Do not accept', h('span', {class: 'unseen'}, ` ${of}`))));
  };
  const card = (/** @type {any} */ one, /** @type {number} */ i) => {
    const of = `item ${one.item} ${one.name} of ${one.case}`;
    const fault = h('div', {role: 'alert'});
    return h('li', {class: 'card'},
      h('h3', {}, h('a', {href: casePath(group, one.case, one.item)}, `${one.case}, item ${one.item} ${one.name}`),
        one.standing === 'open' ? h('span', {class: 'tag'}, 'not accepted yet') : null),
      h('p', {}, `Gave ${one.score}, from the description of ${one.trials.map((/** @type {number} */ n) => `trial ${n}`).join(' and ')}. `, `${standingWords(one)}`),
      h('p', {class: 'hint'}, `${one.set}, ${modeWords(one.mode)}, ${dateTime(one.at)}.${one.settled ? ` It stands: ${one.settled}.` : ''}`), fault,
      one.settled ? null : h('div', {class: 'no-print'}, one.decided && one.decided.accepted !== null
        ? h('p', {}, h('button', {type: 'button', class: 'quiet small', onclick: () => decide([one], null, '', fault)}, 'Take this back', h('span', {class: 'unseen'}, ` for ${of}`)))
        : h('details', {class: 'fold'}, h('summary', {}, one.standing === 'open' ? 'Accept it, or not' : 'Decide otherwise', h('span', {class: 'unseen'}, `, ${of}`)), form([one], String(i), of))));
  };
  return h('section', {'aria-labelledby': 'from-descriptions'},
    h('h2', {id: 'from-descriptions', tabindex: '-1'}, 'Trials taken in their described form'),
    h('p', {}, `The description gives what is to be measured, so these trials say nothing of the stopwatch and are in none of its figures. Accepted, an answer counts as any other. Not accepted, it counts as not given, that is as missed where the key is a level. You can take either back until a report is signed.`),
    problem,
    open.length > 1 ? h('details', {class: 'fold no-print'}, h('summary', {}, `Decide about all ${open.length} that wait at once`), form(open, 'all', `${count(open.length, 'answer')} that wait`)) : null,
    h('ol', {class: 'cards'}, all.map(card)));
}

/** On the page of a group: who waits for a word, and what is arranged with whom. @param {any} board @param {(rater: string) => string} path */
export function waiting(board, path) {
  const open = board.raters.filter((/** @type {any} */ one) => one.described_open);
  return [
    open.length ? [h('h3', {}, 'Trials taken in their described form'), h('p', {}, 'Nobody has said yet whether these are accepted. They count as given, and \u201cready\u201d waits for them.'),
      h('ul', {}, open.map((/** @type {any} */ one) => h('li', {}, h('a', {href: `${path(one.rater)}#from-descriptions`}, one.rater), `: ${count(one.described_open, 'answer')}`)))] : null,
    board.arrangements.length ? [h('h3', {}, 'What is arranged'), h('ul', {}, board.arrangements.map((/** @type {any} */ one) =>
      h('li', {}, h('a', {href: `${path(one.rater)}#arranged`}, one.rater), `: ${arrangedWords(one)}`)))] : null];
}

/** The part of the page that the address names, once it is there. */
export function goToNamed() {
  const named = location.hash.slice(1);
  if (named === 'arranged' || named === 'from-descriptions') {
    const part = document.getElementById(named);
    part?.scrollIntoView({block: 'start'});
    part?.focus({preventScroll: true});
  }
}
