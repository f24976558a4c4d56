// @ts-check
// For instructors: one group. What it was given, where each rater stands, and what to look at.

import { h, show, byId, dateTime, date, percent, shareLimits, signed, table, count, modeWords, records, focusOn } from './dom.js';
import { get, send, part, words } from './api.js';
import { asks, attempt, faultAt, field, numberIn } from './fields.js';
import { address, casePath, mark, raterPath } from './instructor.js';
import { heatMap } from './board.js';
import { severity } from './chart.js';
import { fileButtons } from './files.js';
import { waiting } from './arranged.js';
import './frame.js';

const group = address[1];
const content = byId('content');
const at = `/api/groups/${part(group)}`;
const pageful = 50;

/** @param {any} bias */
const points = bias => bias.points === null ? '' : bias.lower === null ? signed(bias.points, 1)
  : `${signed(bias.points, 1)} (${signed(bias.lower, 1)} to ${signed(bias.upper, 1)})`;

/** @param {any} board */
function standing(board) {
  const counts = /** @type {[string, string][]} */ ([['ready', 'ready'], ['not-yet', 'not yet'], ['more-cases', 'more cases needed'],
    ['not-shown', 'not shown'], ['waits', 'waiting to be accepted'], ['none', 'no check yet']]).map(([status, says]) =>
    `${mark(status)} ${board.raters.filter((/** @type {any} */ one) => one.status === status).length} ${says}`);
  const level = board.raters.find((/** @type {any} */ one) => one.level)?.level;
  const provisional = board.raters.some((/** @type {any} */ one) => one.provisional);
  return [h('p', {}, counts.join(', '), '.'),
    h('p', {class: 'hint'}, `By the standard "${board.standard.title}": ready when the lower limit of the share of scores equal to the key is ${
      percent(board.standard.not_acceptable)} or more${level ? ` (one-sided limits, ${percent(level)} each)` : ''} and no item stands out. Practice never counts: skills checks that are over, closed rounds and imported scores do. A second attempt in a year is decided by the stricter limits that the standard has for it.`),
    provisional ? h('p', {class: 'notice'}, 'Demonstration only: second readers have not confirmed every key behind this. It decides about nobody.') : null];
}

/** @param {any} board */
function boardOf(board) {
  let shown = Math.min(pageful, board.raters.length);
  const place = h('div', {});
  const draw = () => {
    const raters = board.raters.slice(0, shown);
    show(place,
      records('Decision by the standard', ['Rater', 'Decision', 'As the key', 'Limits', 'Cases', 'Points off', 'May need help'], raters.map((/** @type {any} */ one) => [
        h('a', {href: raterPath(group, one.rater)}, one.rater),
        [h('span', {'aria-hidden': 'true'}, mark(one.status), ' '), one.words, one.provisional ? h('span', {class: 'tag'}, 'provisional') : null,
          one.attempt && !one.attempt.startsWith('First') ? h('span', {class: 'hint'}, ` ${one.attempt}`) : null, one.none_left_until ? h('span', {class: 'hint'}, ` No attempt left before ${date(`${one.none_left_until}T12:00:00`)}`) : null,
          one.status === 'none' && one.reason ? h('span', {class: 'hint'}, ` ${one.reason}`) : null],
        percent(one.share), shareLimits(one.lower, one.upper), one.cases || '', points(one.bias), one.stuck ?? '']), ['', '', 'number', '', 'number', '', '']),
      h('h3', {}, 'Signed disagreement with the key'), heatMap(raters, board.items, group),
      h('h3', {}, 'How severe each rater is'),
      h('p', {class: 'hint'}, `Mean of score minus key in points of the total, with ${percent(board.standard.bias_confidence)} limits by case: right of 0 the rater scores too high. The band is what the standard takes as close enough, ${board.standard.bias_points} points either way.`),
      severity(raters.map((/** @type {any} */ one) => ({rater: one.rater, points: one.bias.points, lower: one.bias.lower, upper: one.bias.upper})), board.standard.bias_points) ?? h('p', {}, 'Nothing to draw yet.'),
      shown < board.raters.length ? h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => { shown += pageful; draw(); }},
        `Show ${Math.min(pageful, board.raters.length - shown)} more of ${board.raters.length}`)) : null);
  };
  draw();
  return place;
}

/** @param {any} board */
function stuck(board) {
  const all = board.raters.filter((/** @type {any} */ one) => one.stuck);
  return all.length ? h('ul', {}, all.map((/** @type {any} */ one) => h('li', {}, h('a', {href: raterPath(group, one.rater)}, one.rater), `: ${one.stuck}`)))
    : h('p', {}, 'Nobody: no open sitting was left for three days, and everybody who joined a week ago has begun.');
}

/** @param {Element} place */
async function showBoard(place) {
  for (;;) {
    const board = await get(`${at}/board`);
    byId('title').textContent = board.group.title;
    document.title = `${board.group.title} - evenhand`;
    show(place, board.pending ? h('p', {class: 'wait', role: 'status'}, `Working out ${count(board.pending, 'more rater')} ...`) : null,
      board.pending ? null : board.raters.length ? [standing(board), boardOf(board), waiting(board, rater => raterPath(group, rater)), h('h3', {}, 'Who may be stuck'), stuck(board)]
        : h('p', {}, 'Nobody has joined yet.'));
    if (!board.pending) return;
  }
}

/** @param {Element} place */
async function showSuspects(place) {
  const {suspects} = await get(`${at}/suspects`);
  show(place, suspects.length ? [h('p', {}, 'Good raters agree with each other against these keys. Look at the case before you look at the raters.'),
    table('Suspect keys', ['Case and item', 'Key', 'They gave', 'Who'], suspects.map((/** @type {any} */ one) => [
      h('a', {href: casePath(group, one.case, one.item)}, `${one.case}, item ${one.item} ${one.name}`), one.key, one.score,
      `${one.raters} of ${one.of} ${one.judges === 'ready' ? 'ready raters' : 'of the better half'}; ${one.all_gave} of all ${one.all}`]), ['', 'number', 'number', ''])]
    : h('p', {}, 'None: nowhere do good raters (all of three or four, two thirds of five or more) give one level that is not the key.'));
}

/** @param {Element} place */
async function showDue(place) {
  const due = await get(`${at}/due`);
  const state = /** @type {Record<string, string>} */ ({out: 'has run out', soon: 'runs out within 60 days', good: 'in force'});
  show(place, due.length ? records('Sign-offs by the day they run out', ['Rater', 'Valid until', 'State', 'Signed'], due.map((/** @type {any} */ one) => [
    h('a', {href: raterPath(group, one.rater)}, one.rater), date(one.valid_until), state[one.state], `${date(one.signed)}, version ${one.version}`]))
    : h('p', {}, 'No member has a sign-off with a day until which it is valid.'));
}

/** @param {Element} place @param {string} [focused]  the assignment whose row takes the focus */
async function showAssignments(place, focused = '') {
  const given = await get(`${at}/assignments`);
  show(place, given.length ? records('Set, window and attempts', ['Set', 'Mode', 'Opens', 'Closes', 'Attempts', 'State'], given.map((/** @type {any} */ one) => [
    h('span', {id: `given-${one.id}`}, one.set.title), modeWords(one.mode), dateTime(one.opens), dateTime(one.closes), one.attempts,
    one.state === 'withdrawn' || one.state === 'closed' ? one.state : [one.state, ' ', asks('Withdraw', one.set.title,
      'Nobody can begin it from then on. What was begun goes on until it would have closed.', async () => {
        await send('DELETE', `${at}/assignments/${part(one.id)}`);
        await showAssignments(place, one.id);
      })]]), ['', '', '', '', 'number', '']) : h('p', {}, 'None yet.'));
  if (focused) focusOn(document.getElementById(`given-${focused}`));
}

/** As a field of the browser has it: local time, to the minute. @param {Date} when */
function local(when) {
  const two = (/** @type {number} */ n) => String(n).padStart(2, '0');
  return `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())}T${two(when.getHours())}:${two(when.getMinutes())}`;
}

/** @param {any[]} sets @param {(id: string) => Promise<void>} after */
function assignForm(sets, after) {
  const now = Date.now();
  const problem = h('div', {role: 'alert'});
  const set = h('select', {id: 'set'}, sets.map(one => h('option', {value: one.id}, `${one.title} (${modeWords(one.mode)})`)));
  const mode = h('select', {id: 'mode'}, h('option', {value: ''}, 'as the set has it'), h('option', {value: 'practice'}, 'practice'),
    h('option', {value: 'skills-check'}, 'skills check'));
  const opens = h('input', {id: 'opens', type: 'datetime-local', value: local(new Date(now))});
  const closes = h('input', {id: 'closes', type: 'datetime-local', value: local(new Date(now + 7 * 24 * 3600000))});
  const attempts = h('input', {id: 'attempts', inputmode: 'numeric', value: '1', maxlength: '2', autocomplete: 'off'});
  const form = h('form', {class: 'form', novalidate: true}, field(set, 'Set'),
    field(mode, 'Mode', 'In practice each reason comes at once; in a skills check all come at the end, and who practiced with the set cannot be checked with it. While the check is to come or open, its cases stay out of what these raters learn from.'),
    field(opens, 'Opens'), field(closes, 'Closes'),
    field(attempts, 'Attempts', 'A skills check is taken once: its reasons are shown when it is handed in.'),
    problem, h('p', {}, h('button', {type: 'submit'}, 'Give this set')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(problem);
    for (const [input, name] of /** @type {[HTMLInputElement, string][]} */ ([[opens, 'Opens'], [closes, 'Closes']]))
      if (!input.value) return faultAt(input, `${name}: choose a day and time.`);
    const times = numberIn(attempts, {name: 'Attempts', from: 1, to: 20});
    if (times === undefined) return;
    attempt(problem, async () => {
      const made = await send('POST', `${at}/assignments`, {set: set.value, ...(mode.value ? {mode: mode.value} : {}),
        opens: new Date(opens.value).toISOString(), closes: new Date(closes.value).toISOString(), attempts: times});
      await after(made?.id ?? '');
    }, form);
  });
  return form;
}

async function start() {
  const problem = h('div', {role: 'alert'});
  const board = h('div', {}), suspects = h('div', {}), due = h('div', {}), given = h('div', {}), form = h('div', {});
  show(content, h('p', {class: 'no-print'}, h('a', {href: '/groups'}, 'All groups')), problem,
    h('section', {'aria-labelledby': 'standing'}, h('h2', {id: 'standing'}, 'Where everybody stands'), board, fileButtons('Report of the skills check', `${at}/report`)),
    h('section', {'aria-labelledby': 'due'}, h('h2', {id: 'due'}, 'Sign-offs'), due),
    h('section', {'aria-labelledby': 'suspects'}, h('h2', {id: 'suspects'}, 'Suspect keys'), suspects),
    h('section', {'aria-labelledby': 'given', class: 'no-print'}, h('h2', {id: 'given'}, 'Sets given to this group'), given,
      h('details', {class: 'fold'}, h('summary', {}, 'Give a set'), form)));
  try {
    await showBoard(board);
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
    return;
  }
  await attempt(problem, async () => {
    await Promise.all([showSuspects(suspects), showDue(due), showAssignments(given)]);
    const sets = /** @type {any[]} */ (await get('/api/sets')).filter(one => one.mode !== 'calibration');
    show(form, assignForm(sets, id => showAssignments(given, id)));
  });
}

start();
