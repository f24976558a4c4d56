// @ts-check
// The standard in force in plain words, and a form to change it with its error rates beside it.

import { h, show, byId, date, dateTime, count, records, focusOn } from './dom.js';
import { get, send } from './api.js';
import { attempt, faultAt, field, numberIn } from './fields.js';
import { departmentNav } from './department_nav.js';
import { changedDecisions } from './decisions.js';
import { raterPath } from './instructor.js';
import { ratesOf } from './standard_rates.js';
import './frame.js';

const content = byId('content');
const problem = h('div', {role: 'alert'}), said = h('div', {}), body = h('div', {});

/** A share with as many digits as it has. @param {number} share */
const exactly = share => `${Number((share * 100).toFixed(2))}%`;
/** @param {number[]} all */
const listed = all => all.length < 2 ? String(all[0] ?? '') : `${all.slice(0, -1).join(', ')} and ${all[all.length - 1]}`;

/** @param {any} of @param {any[]} instruments */
function inWords(of, instruments) {
  const scale = instruments.find(one => one.id === of.bias_instrument)?.title ?? of.bias_instrument;
  return h('ul', {},
    h('li', {}, h('b', {}, 'What is good enough. '), `Of the scores that count, the share that equals the key. A rater whose true share is ${exactly(of.not_acceptable)} or less must not be called ready; one of ${exactly(of.competent)} or more should be.${
      of.panel === null ? '' : ` The panel that made the keys reaches ${exactly(of.panel)} itself.`}`),
    h('li', {}, h('b', {}, 'When it is looked. '), `After ${listed(of.looks)} cases with ${count(of.items_per_case, 'item')} each, that is after ${listed(of.looks.map((/** @type {number} */ n) => n * of.items_per_case))} scores.`),
    h('li', {}, h('b', {}, 'Ready: '), `when at a look the lower limit of the share (one-sided, ${exactly(of.one_attempt)}) is ${exactly(of.not_acceptable)} or more, and no item was missed on ${exactly(of.item_screen)} or more of its cases.`),
    h('li', {}, h('b', {}, 'Not yet: '), `when the upper limit lies below ${exactly(of.not_acceptable)}. After the last look without either: more cases are needed, after practice, of a new set.`),
    h('li', {}, h('b', {}, 'Abstaining '), 'counts as a miss where the key is a level: "cannot rate" on the hard ones does not help.'),
    h('li', {}, h('b', {}, 'A second attempt '), `in a year asks for limits of ${exactly(of.two_attempts)} in both. There is no level for a third.`),
    h('li', {}, h('b', {}, 'The limits '), `treat the scores of one case as going together by ${of.correlation_floor} at least. Above ${of.correlation_warning} the program warns: the error rates hold no more.`),
    h('li', {}, h('b', {}, 'The set. '), `Each level makes up at least ${exactly(of.least_of_each_level)} of the keys that count, the best one at most ${exactly(of.most_of_the_best)}; at most ${exactly(of.most_typical)} of the children are typical. A case decides once ${count(of.second_readers, 'second reader')} scored it without seeing the key.`),
    h('li', {}, h('b', {}, 'Shown beside it, not deciding: '), `the mean error in points of the ${scale}, within ${of.bias_points} points either way (${exactly(of.bias_confidence)} limits), and errors of two levels or more when they are more than ${exactly(of.two_levels)} of the scores.`));
}

/** What the form asks: field, label, hint, and how its number is read. 'share' is typed in percent. */
const asked = /** @type {[string, string, string, 'share' | 'share?' | 'whole' | 'decimal' | 'looks'][]} */ ([
  ['not_acceptable', 'Not acceptable up to, %', 'The lower edge: who truly agrees this often or less must not be called ready.', 'share'],
  ['competent', 'Competent from, %', 'Who truly agrees this often should be called ready.', 'share'],
  ['panel', 'The key panel\u2019s own agreement, %', 'Where it was measured, leave one out; else empty.', 'share?'],
  ['looks', 'Looks, after how many cases', 'Ascending: 16, 24, 32.', 'looks'],
  ['items_per_case', 'Items of each case', 'Half cases tell more than as many scores from whole ones.', 'whole'],
  ['one_attempt', 'Level of each limit with one attempt, %', 'One-sided; above 50.', 'share'],
  ['two_attempts', 'Level with two attempts in a year, %', 'At least as high: each attempt is one more chance to be lucky.', 'share'],
  ['item_screen', 'An item holds back when missed on, % of its cases', '', 'share'],
  ['correlation_floor', 'Least correlation within a case', 'From 0 to 0.99. What the limits reckon with even when few cases happen to show less.', 'decimal'],
  ['correlation_warning', 'Warn above a correlation of', '', 'decimal'],
  ['least_of_each_level', 'Each level at least, % of the keys', '', 'share'],
  ['most_of_the_best', 'The best level at most, %', '', 'share'],
  ['most_typical', 'Typical children at most, %', '', 'share'],
  ['second_readers', 'Second readers of a case before it decides', '0 to 100.', 'whole'],
  ['bias_points', 'Mean error within, points of the total', '', 'decimal'],
  ['bias_confidence', 'Limits of the mean error, %', 'Two-sided.', 'share'],
  ['two_levels', 'Point out errors of two levels above, %', '', 'share'],
]);

/** Where a part of the form begins. */
const parts = /** @type {Record<string, string>} */ ({not_acceptable: 'What is good enough', looks: 'When it is looked, and how sure', least_of_each_level: 'The set', bias_points: 'Shown beside it, not deciding'});

/** @param {any} given @param {Element} rates */
function editor(given, rates) {
  /** @type {Record<string, HTMLInputElement>} */
  const inputs = {};
  const title = h('input', {id: 'title', maxlength: '100', autocomplete: 'off'});
  const scale = h('select', {id: 'bias_instrument'}, given.instruments.map((/** @type {any} */ one) => h('option', {value: one.id}, one.title)));
  for (const [id] of asked) inputs[id] = h('input', {id, inputmode: id === 'looks' ? 'text' : 'decimal', maxlength: '60', autocomplete: 'off'});
  /** @param {any} of */
  const fill = of => {
    title.value = of.title;
    scale.value = of.bias_instrument;
    for (const [id, , , kind] of asked)
      inputs[id].value = of[id] === null ? '' : kind === 'looks' ? of[id].join(', ') : kind.startsWith('share') ? String(Number((of[id] * 100).toFixed(4))) : String(of[id]);
  };
  /** The numbers as they stand; undefined: one is none, which is said there. */
  const numbers = () => {
    /** @type {Record<string, any>} */
    const out = {title: title.value.trim(), bias_instrument: scale.value};
    if (!out.title) { faultAt(title, 'Give the standard a title.'); return undefined; }
    for (const [id, label, , kind] of asked) {
      if (kind === 'looks') {
        const all = inputs[id].value.split(/[\s,;]+/).filter(Boolean);
        if (!all.length || all.some(one => !/^\d{1,6}$/.test(one))) { faultAt(inputs[id], 'Looks: whole numbers of cases, such as 16, 24, 32.'); return undefined; }
        out[id] = all.map(Number);
        continue;
      }
      const name = label.replace(/, %.*$/, '');
      const value = kind === 'whole' ? numberIn(inputs[id], {name, from: 0, to: 1000})
        : kind === 'decimal' ? numberIn(inputs[id], {name, from: 0, to: 1000, whole: false})
          : numberIn(inputs[id], {name, from: 0, to: 100, whole: false, empty: kind === 'share?'});
      if (value === undefined) return undefined;
      out[id] = value !== null && kind.startsWith('share') ? Number((value / 100).toFixed(8)) : value;
    }
    return out;
  };
  /** @param {any[]} faults @returns {boolean} whether one was said */
  const sayFaults = faults => {
    let first = /** @type {any} */ (null);
    for (const fault of faults) {
      const control = fault.field === 'title' ? title : fault.field === 'bias_instrument' ? scale : inputs[fault.field];
      if (control) faultAt(control, fault.says, false);
      else show(trouble, h('p', {class: 'notice'}, fault.says));
      first ??= control;
    }
    first?.focus();
    return faults.length > 0;
  };

  const trouble = h('div', {role: 'alert'}), outcome = h('div', {}), stale = h('p', {class: 'hint', role: 'status'});
  const workOut = () => {
    const wanted = numbers();
    if (!wanted) return;
    attempt(trouble, async () => {
      show(stale, 'Simulating ...');
      rates.setAttribute('aria-busy', 'true');
      try {
        const found = await send('POST', '/api/standard/curves', wanted);
        if (sayFaults(found.faults)) return;
        show(rates, found.curves ? ratesOf(found.curves) : h('p', {}, `It cannot be simulated: ${found.why}.`));
        show(stale, 'The error rates are those of these numbers.');
      } finally {
        rates.removeAttribute('aria-busy');
        if (stale.textContent === 'Simulating ...') show(stale);
      }
    }, form);
  };

  /** @param {any} found @param {any} sent */
  const confirmation = (found, sent) => {
    const why = h('input', {id: 'why', maxlength: '300', autocomplete: 'off'}), fault = h('div', {role: 'alert'});
    const head = h('h3', {}, 'Whose decision would be another one');
    const confirm = h('form', {novalidate: true, class: 'asking'}, head,
      changedDecisions(found.decisions),
      h('p', {}, 'What is signed stays as it was signed, with the standard it was signed under. Boards and reports are worked out by the new one from then on.'),
      h('details', {class: 'fold'}, h('summary', {}, 'The standard as a file'), h('pre', {class: 'source', tabindex: '0'}, found.text)),
      field(why, 'Why', 'Kept with it: the meeting, the reason in a sentence.'), fault,
      h('p', {class: 'answers'}, h('button', {type: 'submit'}, 'Put in force'), h('button', {type: 'button', class: 'quiet', onclick: () => { show(outcome); title.focus(); }}, 'Leave it')));
    confirm.addEventListener('submit', event => {
      event.preventDefault();
      if (!why.value.trim()) return faultAt(why, 'Say why: it is kept with the standard.');
      attempt(fault, async () => {
        await send('PUT', '/api/standard', {...sent, why: why.value.trim(), confirm: found.confirm});
        await draw(`"${sent.title}" is in force from now on.`);
      }, confirm);
    });
    show(outcome, confirm);
    focusOn(head);
  };

  const form = h('form', {novalidate: true, onsubmit: (/** @type {Event} */ event) => {
    event.preventDefault();
    const wanted = numbers();
    if (!wanted) return;
    attempt(trouble, async () => {
      const found = await send('POST', '/api/standard/preview', wanted);
      if (!sayFaults(found.faults)) confirmation(found, wanted);
    }, form);
  }, oninput: () => {
    show(outcome);
    show(stale, 'The error rates are not those of these numbers any more: work them out again.');
  }},
  h('div', {class: 'form'}, field(title, 'Title'), asked.map(([id, label, hint]) => [parts[id] ? h('h3', {}, parts[id]) : null, id === 'bias_points' ? field(scale, 'Scale', 'The one that the standard is for.') : null, field(inputs[id], label, hint)])),
  trouble, h('p', {class: 'actions'}, h('button', {type: 'button', class: 'quiet', onclick: workOut}, 'Work out the error rates'), h('button', {type: 'submit'}, 'Preview'),
    h('button', {type: 'button', class: 'quiet', onclick: () => { fill(given.shipped); show(outcome); show(stale, 'Filled in. Nothing is in force yet: preview it.'); title.focus(); }}, 'Fill in those that come with the program')), stale);
  fill(given.standard);
  return h('div', {}, form, outcome);
}

/** @param {any} found */
function ownCorrelation(found) {
  if (found.estimate === null) return h('p', {}, `How much the scores of one case go together among your own raters cannot be told yet: ${found.why}.`);
  const rest = found.not_reached ? ` ${count(found.not_reached, 'rater was', 'raters were')} not reached in time and ${found.not_reached === 1 ? 'is' : 'are'} not among them.` : '';
  const words = `Among your own raters the scores of one case go together by ${found.estimate.toFixed(2).replace('-', '\u2212')} (${count(found.raters, 'rater')}, ${count(found.cases, 'case')} scored; no interval is worked out).${rest}`;
  return found.above_warning
    ? h('div', {class: 'notice'}, h('p', {}, words), h('p', {}, `That is above ${found.warning_above}: the error rates that the standard was made for do not hold. Read the table at that correlation.`))
    : h('p', {}, words);
}

/** @param {Element} place @param {string} weeks */
async function showDue(place, weeks) {
  const {due} = await get(`/api/standard/due?weeks=${encodeURIComponent(weeks)}`);
  show(place, due.length ? records('Sign-offs by the day they run out', ['Rater', 'Group', 'Valid until', 'State', 'Signed'], due.map((/** @type {any} */ one) => [
    h('a', {href: raterPath(one.group, one.rater)}, one.rater), one.group_title, date(one.valid_until), one.out ? 'has run out' : 'runs out', date(one.signed)]))
    : h('p', {}, 'Nobody: no sign-off runs out by then.'));
}

/** @param {string} [words] */
async function draw(words = '') {
  const given = await get('/api/standard');
  const notice = words ? h('p', {class: 'notice', role: 'status'}, words) : null;
  const rates = h('div', {}, h('p', {class: 'wait'}, 'Simulating ...')), own = h('div', {}), due = h('div', {}), wrong = h('div', {role: 'alert'});
  const weeks = h('select', {id: 'weeks'}, [4, 12, 26, 52].map(n => h('option', {value: String(n)}, `${n} weeks`)));
  weeks.value = '12';
  weeks.addEventListener('change', () => attempt(wrong, () => showDue(due, weeks.value)));
  show(said, notice);
  show(body, h('h2', {}, `In force: "${given.standard.title}"`),
    h('p', {}, given.own ? 'The department\u2019s own. ' : 'The one that comes with the program. ', 'It decides for every rater and every skills check of the department; there is one, and sets have none of their own. It speaks of the ', given.instruments.find((/** @type {any} */ one) => one.id === given.standard.bias_instrument)?.title ?? given.standard.bias_instrument, '.'),
    inWords(given.standard, given.instruments), h('p', {class: 'hint'}, `Fingerprint of its text: ${given.fingerprint.slice(0, 16)}`),
    h('div', {class: given.may_write ? 'composer' : ''},
      given.may_write ? h('section', {class: 'no-print', 'aria-labelledby': 'edit'}, h('h2', {id: 'edit'}, 'Change it'), editor(given, rates)) : h('p', {}, 'The lead of the department puts a standard in force.'),
      h('section', {class: given.may_write ? 'beside' : '', 'aria-labelledby': 'rates'}, h('h2', {id: 'rates'}, 'How often it errs'), own, rates)),
    h('h2', {}, 'Who is due'), h('div', {class: 'form'}, field(weeks, 'Sign-offs that run out within')), wrong, due,
    h('h2', {}, 'Versions'), given.versions.length ? records('Every version that was put in force', ['When', 'By', 'Why', 'Fingerprint, text'],
      given.versions.map((/** @type {any} */ one) => [dateTime(one.at), one.by ?? 'erased since', one.why, one.fingerprint.slice(0, 16)])) : h('p', {}, 'None: the standard that comes with the program has been in force throughout.'));
  if (notice) focusOn(notice);
  await attempt(wrong, () => showDue(due, weeks.value));
  await attempt(problem, async () => show(own, ownCorrelation(await get('/api/standard/correlation'))));
  await attempt(problem, async () => {
    const found = await send('POST', '/api/standard/curves', given.standard);
    show(rates, found.curves ? ratesOf(found.curves) : h('p', {}, `It cannot be simulated: ${found.why ?? found.faults.map((/** @type {any} */ one) => one.says).join(' ')}`));
  });
}

show(content, departmentNav(), problem, said, body);
attempt(problem, () => draw());
