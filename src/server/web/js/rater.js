// @ts-check
// For instructors: the competency report of one rater, remarks, and the sign-off.

import { h, show, byId, date, dateTime, shareLimits, told, signed, table, modeWords, records } from './dom.js';
import { get, send, part, words } from './api.js';
import { ask, attempt, faultAt, field } from './fields.js';
import { address, casePath, groupPath } from './instructor.js';
import { finishedOf, learningCurve } from './chart.js';
import { fileButtons } from './files.js';
import { arrangement, described, goToNamed } from './arranged.js';
import './frame.js';

const [, group, , rater] = address;
const content = byId('content');
const at = `/api/groups/${part(group)}/raters/${part(rater)}`;

/** @param {any} checks */
function decision(checks) {
  return h('section', {class: 'verdict', 'aria-labelledby': 'decision'},
    h('h2', {id: 'decision'}, checks.verdict, checks.provisional ? h('span', {class: 'tag'}, 'provisional') : null),
    h('p', {}, told(checks.reason)), checks.more ? h('p', {}, told(checks.more)) : null,
    h('p', {class: 'hint'}, `${told(checks.scored)}. Standard: ${checks.standard.title}. ${checks.attempt ? `${checks.attempt}, told from when the scores were made.` : 'No time stands with these scores, so they are taken as one first attempt: count attempts yourself before you sign.'}`));
}

/** @param {any} checks */
function evidence(checks) {
  const missed = /** @type {any[]} */ (checks.items);
  return [
    checks.notices.map((/** @type {string} */ says) => h('p', {class: 'notice'}, told(says))),
    h('p', {}, told(checks.bias)),
    h('h2', {}, 'Item by item'),
    records('Disagreement with the key by item', ['Item', 'Missed', 'Levels high or low', '95% limits', 'Item screen'], missed.map(one => [
      `${one.item} ${one.name}`, `${one.missed} of ${one.shown}`, one.off === null ? '' : signed(one.off, 2),
      one.lower === null || one.upper === null ? '' : `${signed(one.lower, 2)} to ${signed(one.upper, 2)}`, one.stands_out ? 'stands out' : '']),
    ['', 'number', 'number', '', '']),
    h('h2', {}, 'Slips by kind'),
    checks.slips.length ? table('Slips, told from what was written down', ['Kind', 'Times', 'What helps'], checks.slips.map((/** @type {any} */ one) =>
      [one.words, one.n, one.cure]), ['', 'number', '']) : h('p', {}, 'None could be told: nothing was written down beside a score that differs.'),
    h('h2', {}, 'To talk about first'),
    checks.worst.length ? table('Scores that lie farthest from the key', ['Case and item', 'Key', 'Gave', 'Others there'], checks.worst.map((/** @type {any} */ one) => [
      h('a', {href: casePath(group, one.case, one.item)}, `${one.case}, item ${one.item} ${one.name}`), one.key, one.score || 'blank',
      one.others ? `${one.others_missed} of ${one.others} missed it` : 'nobody else']), ['', 'number', 'number', '']) : h('p', {}, 'No score differs from its key.'),
    h('h2', {}, 'What to practice'),
    checks.practice.length ? h('ul', {}, checks.practice.slice(0, 5).map((/** @type {any} */ one) => h('li', {}, h('a', {href: `/learn/${part(one.item)}`}, `${one.item} ${one.name}`), `, missed ${one.missed} times`)))
      : h('p', {}, 'Nothing stands out.')];
}

/** @param {any[]} sittings */
function curve(sittings) {
  const drawn = finishedOf(sittings);
  const timed = sittings.filter(one => one.watch_mean !== null && one.watch_mean !== undefined);
  return [h('h2', {}, 'Learning curve'), drawn.length ? h('figure', {class: 'strip-box'},
    h('figcaption', {}, 'Percent of items scored as the key, with 95% limits where there are any, by the number of the sitting, practice included'), learningCurve(drawn)) : null,
  sittings.length ? table('Every sitting', ['Sitting', 'As the key', 'Limits'], sittings.map((one, i) => [`${i + 1}. ${one.title}, ${date(one.begun)}, ${modeWords(one.mode)}`,
    one.scored ? `${one.right} of ${one.scored}` : '\u2013', shareLimits(one.lower, one.upper) || '\u2013']), ['', 'number', '']) : h('p', {}, 'No sitting yet.'),
  h('h2', {}, 'Stopwatch'), timed.length ? table('Reading minus true time', ['Sitting', 'Mean', 'Spread (SD)'], timed.map(one => [`${sittings.indexOf(one) + 1}. ${one.title}, ${date(one.begun)}`,
    `${signed(one.watch_mean, 2)} s`, one.watch_sd === null ? '\u2013' : `${one.watch_sd.toFixed(2)} s`]), ['', 'number', 'number']) : h('p', {}, 'No trial was timed live.')];
}

/** @param {any} one @param {boolean} last */
function version(one, last) {
  return h('li', {class: 'card'}, h('h3', {}, `Version ${one.version}: ${one.verdict}`, last ? h('span', {class: 'tag'}, 'latest') : null),
    h('p', {}, `Signed by ${one.name} on ${date(one.signed)}. `, one.valid_until ? `Valid until ${date(one.valid_until)}${one.in_force ? '' : last ? ' (over)' : ' (a later version took its place)'}.` : 'Filed as it is; it makes nobody ready.'),
    one.why ? h('p', {}, `Why: ${one.why}`) : null,
    one.intact ? null : h('p', {class: 'notice'}, 'What is stored (report, name, dates, verdict) is not what was signed. Compare it with a printed or downloaded copy, and restore a backup.'),
    h('dl', {class: 'facts prints'}, [['Standard', `${one.standard}, ${one.standard_fingerprint}`], ['Scores', one.data_fingerprint], ['Report', one.report_fingerprint], ['Program', one.program_version]]
      .map(([name, value]) => h('div', {}, h('dt', {}, name), h('dd', {}, value)))),
    h('p', {class: 'no-print'}, h('a', {class: 'button quiet', href: `${at}/sign-offs/${one.version}`, download: ''}, 'Download', h('span', {class: 'unseen'}, ` version ${one.version} as it was signed`))));
}

/** @param {any} page */
function signForm(page) {
  const problem = h('div', {role: 'alert'}), question = h('div', {});
  const again = page.sign_offs.length > 0, checks = page.checks;
  if (!checks) return h('p', {}, 'No check was handed in, so there is nothing to sign.');
  const may = checks.ready && !checks.provisional;
  const name = h('input', {id: 'name', required: true, maxlength: '120', autocomplete: 'name'});
  const until = may ? h('input', {id: 'valid_until', type: 'date', min: page.today}) : null;
  const why = again ? h('input', {id: 'why', maxlength: '400', required: true, autocomplete: 'off'}) : null;
  const form = h('form', {class: 'form', novalidate: true},
    h('p', {}, may ? 'You sign the report above, byte by byte. Should a check, an import or a ruling come in before you do, you are asked to read it again.' : 'The report makes nobody ready, so a signature files it as it is, without a day until which it is valid.'),
    field(name, 'Your name, as it is to stand'),
    until ? field(until, 'Valid until') : null,
    why ? field(why, 'Why a further version') : null,
    problem, h('p', {}, h('button', {type: 'submit'}, 'Sign off ...')), question);
  form.addEventListener('input', () => show(question));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(problem);
    show(question);
    if (!name.value.trim()) return faultAt(name, 'Write your name as it is to stand.');
    if (until?.validity.badInput) return faultAt(until, 'Valid until: choose a day, or leave it empty.');
    if (why && !why.value.trim()) return faultAt(why, 'There is a version already: say why a further one is made.');
    const body = {name: name.value.trim(), valid_until: until?.value || null, ...checks.rests_on, ...(why ? {why: why.value.trim()} : {})};
    ask(question, {question: `You sign as ${body.name}${body.valid_until ? `, valid until ${date(`${body.valid_until}T12:00:00`)}` : ''}. What was signed is never changed; a correction is a further version.`,
      yes: 'Sign off', back: () => {
        show(question);
        name.focus();
      }, deed: async () => {
        // A refusal that names a field is said there.
        if (await attempt(problem, () => send('POST', `${at}/sign-offs`, body), form)) {
          await load();
          byId('sign-offs').focus();
        } else show(question);
      }});
  });
  return form;
}

/** @param {any} page */
function remarks(page) {
  const problem = h('div', {role: 'alert'});
  const text = h('textarea', {id: 'text', rows: '3', maxlength: '4000'});
  const form = h('form', {class: 'form no-print', novalidate: true},
    field(text, 'A remark', 'The rater can read it in a download of their own data. It cannot be changed afterwards.'),
    problem, h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'Add the remark')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    if (!text.value.trim()) return faultAt(text, 'Write the remark first.');
    attempt(problem, async () => {
      await send('POST', `${at}/remarks`, {text: text.value.trim()});
      await load();
      byId('remarks').focus();
    }, form);
  });
  return [page.remarks.length ? h('ul', {class: 'remarks'}, page.remarks.map((/** @type {any} */ one) =>
    h('li', {class: 'remark'}, h('p', {}, one.text), h('p', {class: 'hint'}, `${one.author ?? 'somebody who was erased'}, ${dateTime(one.at)}`)))) : h('p', {}, 'None.'), form];
}

async function load() {
  let page;
  try {
    page = await get(at);
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
    return;
  }
  byId('title').textContent = `Rater ${page.rater}`;
  document.title = `Rater ${page.rater} - evenhand`;
  const versions = [...page.sign_offs].reverse();
  show(content, h('p', {class: 'no-print'}, h('a', {href: groupPath(group)}, `Back to ${page.group.title}`)),
    page.checks ? [decision(page.checks), fileButtons('Report', `${at}/report`), h('p', {class: 'actions'},
      h('button', {type: 'button', class: 'quiet', onclick: () => window.print()}, 'Print')), evidence(page.checks)]
      : h('p', {class: 'lead'}, page.no_checks ?? 'No check was handed in, so nothing is decided. Practice never decides about anybody.'),
    described(page, group, at, load),
    curve(page.sittings),
    h('section', {}, h('h2', {id: 'arranged', tabindex: '-1'}, 'What is arranged'), arrangement(page, at, load)),
    h('section', {}, h('h2', {id: 'remarks', tabindex: '-1'}, 'Remarks'), remarks(page)),
    h('section', {}, h('h2', {id: 'sign-offs', tabindex: '-1'}, 'Sign-off'), versions.length ? h('ol', {class: 'cards', reversed: true}, versions.map((one, i) => version(one, i === 0))) : null,
      h('div', {class: 'no-print'}, signForm(page))),
    h('p', {class: 'hint'}, 'Educational evidence for an instructor\u2019s decision: no license, diagnosis or employment verdict. Practice with invented children supports, and never replaces, supervised practice with real ones.'));
}

load().then(goToNamed);
