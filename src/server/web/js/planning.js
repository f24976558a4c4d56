// @ts-check
// Planning the next round: what is wanted, how precisely, and how many cases and raters that takes.

import { h, s, show, byId, percent, count, table, focusOn } from './dom.js';
import { get, send } from './api.js';
import { attempt, field, numberIn } from './fields.js';
import { departmentNav } from './department_nav.js';
import './frame.js';

/** @typedef {{estimate: number | null, lower: number | null, upper: number | null, undefined?: string}} Estimate */

const content = byId('content');
/** What is assumed where no round has measured it. */
const assumed = {icc: 0.8, rater_share: 0.25, sem: 1.5};

/** @param {number} value @param {number} digits */
const fixed = (value, digits) => value.toFixed(digits);

/** @param {Estimate} of @param {(value: number) => string} written */
const told = (of, written) => of.estimate === null ? of.undefined ?? 'not known'
  : written(of.estimate) + (of.lower !== null && of.upper !== null ? ` (${written(of.lower)} to ${written(of.upper)})` : '');

/** What is not 1 is never written as 1.00, as in the report. @param {number} value */
const ratio = value => value < 1 && fixed(value, 2) === '1.00' ? '> 0.99' : fixed(value, 2);

/** @param {number} value */
const inPoints = value => fixed(value, 1);

/** @param {any} start */
function measured(start) {
  if (!start) return h('p', {class: 'notice'}, 'No round has closed yet, so nothing is measured. The numbers below are assumptions: put in your own.');
  if (start.why_not || !start.icc || start.icc.estimate === null)
    return h('p', {class: 'notice'}, `The last closed round, "${start.title}", gives no starting values: ${start.why_not ?? start.icc?.undefined}. The numbers below are assumptions.`);
  return h('div', {}, h('p', {}, `Starting values come from your last closed round, "${start.title}": ${count(start.raters, 'rater')}, ${count(start.cases, 'case')}.`),
    h('ul', {},
      h('li', {}, `Agreement of a single rater on the total, ICC(2,1): ${told(start.icc, ratio)}.`),
      h('li', {}, `Standard error of measurement: ${told(start.sem, inPoints)} points. On 95 of 100 cases two raters differ by at most ${told(start.mdc, inPoints)} points.`),
      h('li', {}, start.rater_share === null ? 'How much of the error is lasting difference between raters is not known.'
        : `${percent(start.rater_share)} of the error is lasting difference between raters (some always score higher than others).`)),
    h('p', {class: 'hint'}, 'One round measures these roughly: try the ends of the ranges too.'));
}

/** @param {string} id @param {number | null} value @param {string} mode */
const input = (id, value, mode = 'decimal') => h('input', {id, inputmode: mode, autocomplete: 'off', value: value === null ? '' : String(value)});

/** Half widths by the number of cases, a line for each number of raters. @param {any} plan @param {number} half @param {string} unit */
function drawing(plan, half, unit) {
  const width = Math.min(640, Math.max(270, document.documentElement.clientWidth - 36)), height = 250, left = 52, right = 74, top = 12, bottom = 40;
  const rows = plan.rows.filter((/** @type {any} */ row) => row.at.length > 1);
  const cases = Math.max(...rows.flatMap((/** @type {any} */ row) => row.at.map((/** @type {any} */ one) => one.cases)));
  const most = Math.min(4 * half, Math.max(2 * half, ...rows.flatMap((/** @type {any} */ row) => row.at.map((/** @type {any} */ one) => one.half))));
  const x = (/** @type {number} */ n) => left + n / cases * (width - left - right);
  const y = (/** @type {number} */ value) => top + (1 - Math.min(value, most) / most) * (height - top - bottom);
  const ends = rows.map((/** @type {any} */ row) => ({raters: row.raters, at: y(row.at[row.at.length - 1].half)})).sort((/** @type {any} */ a, /** @type {any} */ b) => a.at - b.at);
  for (let i = 1; i < ends.length; ++i) ends[i].at = Math.max(ends[i].at, ends[i - 1].at + 15);
  // Not below the axis: what was pushed that far pushes the others up.
  for (let i = ends.length - 1; i >= 0; --i) ends[i].at = Math.min(ends[i].at, (i + 1 < ends.length ? ends[i + 1].at : y(0) + 9) - 15);
  return h('figure', {}, s('svg', {viewBox: `0 0 ${width} ${height}`, class: 'chart', role: 'img', 'aria-label': `How precise a round is, by cases and raters; wanted is ${half}${unit}. The table has every figure.`},
    s('line', {x1: left, x2: width - right, y1: y(0), y2: y(0), class: 'axis'}),
    [0, 0.25, 0.5, 0.75, 1].map(part => s('text', {x: left - 8, y: y(part * most) + 5, 'text-anchor': 'end'}, (part * most).toFixed(most < 1 ? 2 : 1))),
    [0, 0.5, 1].map(part => s('text', {x: x(part * cases), y: height - 20, 'text-anchor': 'middle'}, String(Math.round(part * cases)))),
    s('text', {x: (left + width - right) / 2, y: height - 3, 'text-anchor': 'middle'}, 'cases'),
    s('line', {x1: left, x2: width - right, y1: y(half), y2: y(half), class: 'even'}),
    rows.map((/** @type {any} */ row) => [
      s('polyline', {class: 'curve', points: row.at.map((/** @type {any} */ one) => `${x(one.cases).toFixed(1)},${y(one.half).toFixed(1)}`).join(' ')}),
      row.at.map((/** @type {any} */ one) => s('circle', {cx: x(one.cases), cy: y(one.half), r: 3.5, class: 'dot'}))]),
    ends.map((/** @type {any} */ one) => s('text', {x: width - right + 6, y: one.at + 4}, `${one.raters} raters`))),
  h('figcaption', {class: 'hint'}, `Up: how far the interval reaches to either side${unit}, on average. Dashed: what you want. A line for each number of raters.${most >= 4 * half ? ' What lies higher is cut off at the top.' : ''}`));
}

/** @param {any} plan @param {number} half @param {string} unit */
function sentence(plan, half, unit) {
  const {answer, needed, sought} = plan, size = `${count(answer.cases, 'case')} scored by ${count(answer.raters, 'rater')}`;
  const reach = `${fixed(answer.half, unit ? 1 : 3)}${unit} to either side on average`;
  if (sought === 'nothing') return `${size}: the interval then reaches ${reach}${answer.half <= half ? ', as close as you want.' : `; you want ${half}${unit}.`}`;
  if (needed.number !== null) return `You need ${size}: the interval then reaches ${reach}.`;
  return sought === 'cases' ? `${count(answer.raters, 'rater')} are too few, however many cases up to ${needed.limit} they score: take more raters.`
    : `${count(answer.cases, 'case')} are too few, however many raters up to ${needed.limit} score them: take more cases.`;
}

/** @param {any} needed */
const casesCell = needed => needed.number === null ? `more than ${needed.limit}` : String(needed.number);

/** @param {any} plan @param {number} half @param {string} unit */
function precision(plan, half, unit) {
  const {answer, needed, simulation} = plan;
  const grid = plan.rows[0]?.at.map((/** @type {any} */ one) => one.cases) ?? [];
  const head = h('h2', {tabindex: '-1'}, 'What it takes');
  const between = needed && needed.at_least !== null && needed.at_most !== null && needed.at_least !== needed.at_most ? ` As far as ${simulation.studies} simulated rounds can tell, the number lies between ${needed.at_least} and ${needed.at_most}.` : '';
  return [head, h('p', {class: 'lead'}, sentence(plan, half, unit)), between ? h('p', {}, between) : null,
    answer.coverage < 0.93 ? h('p', {class: 'notice'}, `With so few raters the usual interval is too narrow: only ${percent(answer.coverage)} of the intervals held the true value. Take more raters.`) : null,
    drawing(plan, half, unit),
    table(`Reach to either side${unit}, on average`, ['Raters', 'Cases needed', ...grid.map((/** @type {number} */ n) => `${n} cases`)],
      plan.rows.map((/** @type {any} */ row) => [String(row.raters), casesCell(row.cases), ...row.at.map((/** @type {any} */ one) => fixed(one.half, unit ? 1 : 3))]),
      grid.map(() => 'number').concat('number', 'number')),
    h('h3', {}, 'What to mind'),
    h('ul', {},
      h('li', {}, 'Where some raters always score higher than others, more raters narrow the interval, and more cases soon do not.'),
      h('li', {}, 'The usual formulas leave that difference out. With it, a plan by formula turns out half as wide again or worse.'),
      unit ? h('li', {}, 'In points this is scoring error only: on real children the way they change from day to day comes on top.')
        : h('li', {}, 'The ICC falls when all children are alike, however well raters agree: take cases from the whole scale. It holds for single raters, ICC(2,1); the form belongs beside the number.'),
      h('li', {}, 'On average means: about half of such rounds come out wider. Plan some cases more, and for raters who drop out.')),
    h('p', {class: 'hint'}, `${simulation.studies} simulated rounds for each size, always the same ones (seed ${simulation.seed}); raters and cases drawn from normal distributions.`)];
}

/** @param {any} plan @param {number} share @param {number} chance */
function readiness(plan, share, chance) {
  const shares = plan.rows[0]?.at.map((/** @type {any} */ one) => one.share) ?? [];
  const range = (/** @type {any} */ one) => one.low === null ? 'not known' : percent(one.low) === percent(one.high) ? percent(one.low) : `${percent(one.low)} to ${percent(one.high)}`;
  return [h('h2', {tabindex: '-1'}, 'What it takes'),
    h('p', {class: 'lead'}, plan.answer ? `Plan ${count(plan.answer.cases, 'case')}: by then a rater who gives the key's score ${percent(share)} of the time is found ready ${percent(plan.answer.low)} of the time or more.`
      : `Even by the last look a rater who gives the key's score ${percent(share)} of the time is found ready less than ${percent(chance)} of the time.`),
    table('Found ready by then, of raters who truly agree with the key so often', ['Cases', 'Scores', ...shares.map((/** @type {number} */ one) => percent(one))],
      plan.rows.map((/** @type {any} */ row) => [String(row.cases), String(row.scores), ...row.at.map(range)]), shares.map(() => 'number').concat('number', 'number')),
    h('h3', {}, 'What to mind'),
    h('ul', {},
      h('li', {}, 'The standard looks at fixed numbers of cases. Looking more often, or trying again until it works, makes more raters ready who are not.'),
      h('li', {}, 'The first column of shares is what the standard does not accept: what stands there are raters called ready by mistake.'),
      h('li', {}, 'The range is from errors that hardly go together within a case to errors that do as much as the standard reckons with.'),
      h('li', {}, 'The cases have to be unseen, and mixed as the standard asks.')),
    h('p', {class: 'hint'}, `${plan.simulation.raters.toLocaleString('en-US')} simulated raters for each cell, seed ${plan.simulation.seed}.`)];
}

/** @param {any} given */
function form(given) {
  const start = given.start, known = start && !start.why_not && start.icc?.estimate !== null ? start : null;
  const round2 = (/** @type {number} */ value) => Math.round(value * 100) / 100;
  const outcome = h('div', {}), problem = h('div', {role: 'alert'});
  const icc = input('icc', known ? round2(known.icc.estimate) : assumed.icc), raterShare = input('rater_share', known && known.rater_share !== null ? Math.min(0.95, round2(known.rater_share)) : assumed.rater_share),
    sem = input('sem', known && known.sem.estimate !== null ? round2(known.sem.estimate) : assumed.sem),
    half = input('half', 0.05), points = input('half', 1), raters = input('raters', known ? Math.min(60, known.raters) : 10, 'numeric'), cases = input('cases', null, 'numeric'),
    share = input('share', 0.92), chance = input('chance', 0.9);
  const sizes = () => [field(raters, 'Raters', 'Who score every case. Leave it empty to be told how many.'), field(cases, 'Cases', 'Leave it empty to be told how many.'),
    field(raterShare, 'Share of the error that is lasting difference between raters', '0: nobody is stricter than another; 0.5: half of the error')];
  /** @type {Record<string, () => any>} */
  const fields = {
    icc: () => [field(half, 'How close the ICC shall be known, to either side', 'Half the width of its 95% interval, such as 0.05'), field(icc, 'ICC(2,1) expected'), sizes()],
    mdc: () => [field(points, 'How close, in points to either side', 'Half the width of the 95% interval of the largest difference that is mere scoring error (MDC95)'),
      field(sem, 'Standard error of measurement expected, points'), sizes()],
    ready: () => [field(share, 'How often the rater truly gives the key\'s score', `The standard "${given.standard.title}" calls ${given.standard.competent} competent`), field(chance, 'Chance wanted that this rater is found ready')],
  };
  const rest = h('div', {});
  const want = h('select', {id: 'want'}, [['icc', 'How well raters agree (ICC)'], ['mdc', 'How many points of difference are mere scoring error (MDC)'], ['ready', 'Whether a rater who meets the standard is found ready']]
    .map(([value, words]) => h('option', {value}, words)));
  const change = () => {
    show(rest, fields[want.value]());
    show(outcome);
    show(problem);
  };
  want.addEventListener('change', change);
  change();

  /** What is asked; undefined: something is at fault, and said there. */
  const asked = () => {
    const kind = want.value;
    if (kind === 'ready') {
      const of = numberIn(share, {name: 'Share', from: 0.5, to: 0.99, whole: false});
      const wanted = of === undefined ? undefined : numberIn(chance, {name: 'Chance', from: 0.1, to: 0.99, whole: false});
      return wanted === undefined ? undefined : {want: kind, share: of, chance: wanted};
    }
    const close = kind === 'icc' ? numberIn(half, {name: 'To either side', from: 0.01, to: 0.5, whole: false}) : numberIn(points, {name: 'To either side', from: 0.1, to: 20, whole: false});
    if (close === undefined) return undefined;
    const expected = kind === 'icc' ? numberIn(icc, {name: 'ICC', from: 0.05, to: 0.99, whole: false}) : numberIn(sem, {name: 'Standard error', from: 0.05, to: 20, whole: false});
    if (expected === undefined) return undefined;
    const k = numberIn(raters, {name: 'Raters', from: 2, to: 60, empty: true});
    if (k === undefined) return undefined;
    const n = numberIn(cases, {name: 'Cases', from: 3, to: 200, empty: true});
    if (n === undefined) return undefined;
    const lasting = numberIn(raterShare, {name: 'Share', from: 0, to: 0.95, whole: false});
    return lasting === undefined ? undefined : {want: kind, half: close, [kind === 'icc' ? 'icc' : 'sem']: expected, raters: k, cases: n, rater_share: lasting};
  };

  const button = h('button', {type: 'submit'}, 'Work it out');
  const body = h('form', {class: 'form', novalidate: true}, field(want, 'What you want to know'), rest, problem, h('p', {class: 'actions'}, button));
  body.addEventListener('submit', async event => {
    event.preventDefault();
    const question = /** @type {any} */ (asked());
    if (!question) return;
    button.disabled = true;
    show(outcome, h('p', {class: 'wait', role: 'status'}, 'Simulating rounds: a few seconds ...'));
    const done = await attempt(problem, async () => {
      const plan = await send('POST', '/api/planning/plan', question, 90000);
      show(outcome, question.want === 'ready' ? readiness(plan, question.share, question.chance) : precision(plan, question.half, question.want === 'mdc' ? ' points' : ''));
      focusOn(/** @type {HTMLElement} */ (outcome.querySelector('h2')));
    }, body);
    if (!done) show(outcome);
    button.disabled = false;
  });
  return [body, outcome];
}

try {
  const given = await get('/api/planning');
  show(content, departmentNav(), measured(given.start), form(given));
} catch (error) {
  show(content, departmentNav(), h('p', {class: 'notice', role: 'alert'}, error instanceof Error ? error.message : String(error)));
}
