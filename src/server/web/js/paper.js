// @ts-check
// Scores from paper: a sheet for the keyboard alone, and files with a preview; every import can be taken back.

import { h, show, byId, dateTime, table, records, count, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { asks, attempt, faultAt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { sheetButtons } from './files.js';
import { sheet } from './sheet.js';
import { named } from './csv.js';
import './frame.js';

/** @typedef {import('./sheet.js').SheetSet} SheetSet */

const content = byId('content');
const imports = h('div', {});

/** Rounds that the reader knows, locked ones too. @type {{id: string, title: string, state: string}[]} */
let rounds = [];

/** What is wrong with a rater id, as joining has it; nothing when it is one. @param {string} id */
function raterFault(id) {
  if (!id) return 'Name the rater.';
  if (!/^[a-z0-9][a-z0-9._-]*$/.test(id)) return 'A rater id is made of small letters, digits, ".", "_" and "-", and begins with a letter or digit.';
  if (id.length < 2 || id.length > 40) return 'A rater id has 2 to 40 characters.';
  return id === 'key' ? 'The reference key goes by "key": take another rater id.' : '';
}

/** What the site says about rows, without what holds for the command line alone. @param {string} text */
const plain = text => text.replace(/; a wide table needs to be read as one \([^)]*\)/, '');

/** The scores that stand in the way, and what can be done. @param {string} text  of the site: a line each, then a verdict */
function differing(text) {
  const titled = rounds.reduce((all, one) => all.replaceAll(one.id, `"${one.title}"`), text);
  const lines = titled.split('\n').slice(0, -1).map(line => /^.*?:(\d+): (.*); the store has (.*) \((.*)\)$/.exec(line) ?? line);
  const from = [...new Set([...text.matchAll(/\(import (\d+) of /g)].map(found => found[1]))];
  return [h('p', {}, 'Other scores are kept in their place, so nothing can be taken in. ',
    from.length ? `Take back import ${from.join(', ')} below, or correct the ${lines.length === 1 ? 'row' : 'rows'}.` : 'Correct the rows.'),
  lines.every(one => typeof one !== 'string') ? table('Rows that differ', ['Line', 'Where and what', 'Kept is', 'From'],
    /** @type {RegExpExecArray[]} */ (lines).map(one => [one[1], one[2], one[3], one[4]]), ['number', '', '', ''])
    : h('ul', {}, lines.map(one => h('li', {}, typeof one === 'string' ? one : one[0])))];
}

/** What a file names that nobody here knows. @param {any} seen @param {string} text */
function unknown(seen, text) {
  const away = named(text, 'round').filter(id => !rounds.some(one => one.id === id));
  const locked = named(text, 'round').flatMap(id => rounds.filter(one => one.id === id && one.state === 'locked'));
  const odd = /** @type {string[]} */ (seen.raters).filter(raterFault);
  return [away.length ? h('p', {class: 'notice'}, `${away.length === 1 ? 'A round that is' : 'Rounds that are'} not known here: ${away.join(', ')}. These scores belong to no round of this site.`) : null,
    locked.length ? h('p', {class: 'notice'}, `Locked: ${locked.map(one => one.title).join(', ')}. No scores come in there.`) : null,
    odd.length ? h('p', {class: 'notice'}, `Nobody can join with ${odd.length === 1 ? 'this rater id' : 'these rater ids'}: ${odd.join(', ')}. Is it a slip of the pen?`) : null];
}

/** Where one of the two forms shows what it would bring; whatever changes in the form clears it. */
function preview() {
  const outcome = h('div', {role: 'status'}), problem = h('div', {role: 'alert'});
  let look = 0;
  const clear = () => {
    ++look;
    show(outcome);
    show(problem);
  };
  /** Shows what a file would bring, and takes it in when that is wanted. @param {string} name @param {string} text @param {() => void} after */
  const bring = (name, text, after) => attempt(problem, async () => {
    const mine = ++look;
    const seen = await send('POST', '/api/imports/preview', {name, text});
    // What was changed meanwhile is not what was looked at.
    if (mine !== look) return;
    const refused = /** @type {{line: number, says: string}[]} */ (seen.refused);
    const takeIn = h('button', {type: 'button', id: 'take-in', onclick: () => {
      takeIn.disabled = true;
      return attempt(problem, async () => {
        const made = await send('POST', '/api/imports', {name, text, confirm: seen.confirm});
        const done = h('p', {class: 'notice'}, `Import ${made.number}: ${count(made.added, 'score')} taken in. It can be taken back below.`);
        after();
        show(outcome, done);
        await list();
      }).then(() => { takeIn.disabled = false; });
    }}, 'Import');
    const head = h('h3', {}, 'What it brings');
    show(outcome, head,
      h('p', {}, `${count(seen.rows, 'row')} of ${seen.raters.length ? seen.raters.join(', ') : 'no rater'}: ${seen.added} new, ${seen.unchanged} there already, ${
        count(refused.length, 'row')} refused.`),
      refused.length ? [h('p', {}, 'Nothing can be taken in until these are mended:'), table('Rows that cannot be taken', ['Line', 'Why'],
        refused.map(one => [String(one.line), plain(one.says)]), ['number', ''])] : null,
      seen.differs ? differing(seen.differs) : null, unknown(seen, text),
      seen.notes.length ? h('ul', {}, seen.notes.map((/** @type {string} */ note) => h('li', {}, note))) : null,
      seen.confirm && seen.added ? h('p', {class: 'actions'}, takeIn) : null);
    if (takeIn.isConnected) takeIn.focus();
    else focusOn(head);
  });
  return {outcome, problem, clear, bring};
}

/** @param {any} choices */
function entryForm(choices) {
  const place = h('div', {}), printed = h('div', {}), elsewhere = h('p', {class: 'hint', role: 'status'});
  const {outcome, problem, clear, bring} = preview();
  /** @type {Map<string, string>} */
  const marks = new Map();
  /** @type {ReturnType<typeof sheet>} */
  let now;
  const rater = h('input', {id: 'rater', list: 'raters', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false', maxlength: '40'});
  const round = h('select', {id: 'round'}, h('option', {value: ''}, 'none'), choices.rounds.map((/** @type {any} */ one) =>
    h('option', {value: one.id, 'data-set': one.set}, one.title)));
  const set = h('select', {id: 'set'}, choices.sets.map((/** @type {SheetSet} */ one) => h('option', {value: one.id}, one.title)));
  const button = h('button', {type: 'submit', id: 'look'}, 'Preview');
  const draw = () => {
    now = sheet(choices.sets.find((/** @type {SheetSet} */ one) => one.id === set.value), marks, {
      changed: clear,
      says: fault => {
        clear();
        show(outcome, h('p', {class: 'notice'}, fault));
      },
      full: () => button.focus(),
    });
    show(place, now.element);
    show(printed, sheetButtons(set.value));
    const kept = marks.size - now.filled();
    elsewhere.textContent = kept ? `${count(kept, 'mark')} of another set ${kept === 1 ? 'is' : 'are'} kept: choose it again to see ${kept === 1 ? 'it' : 'them'}.` : '';
  };
  set.addEventListener('change', draw);
  round.addEventListener('change', () => {
    const wanted = round.selectedOptions[0]?.getAttribute('data-set');
    if (wanted && wanted !== set.value) { set.value = wanted; draw(); }
  });
  for (const control of [rater, round, set]) control.addEventListener('input', clear);
  const form = h('form', {novalidate: true},
    h('div', {class: 'pick'}, field(rater, 'Rater id'), field(round, 'Round'), field(set, 'Set'),
      h('datalist', {id: 'raters'}, choices.raters.map((/** @type {string} */ one) => h('option', {value: one})))),
    h('p', {class: 'hint'}, 'A digit is a score and moves on; a letter says why there is none. ', h('kbd', {}, 'Backspace'), ' goes back; arrows move.'),
    printed, place, elsewhere, problem, h('p', {class: 'actions'}, button), outcome);
  form.addEventListener('submit', event => {
    event.preventDefault();
    clear();
    // As joining has it: capitals become small letters.
    rater.value = rater.value.trim().toLowerCase();
    const fault = raterFault(rater.value);
    if (fault) return faultAt(rater, fault);
    if (!now.filled()) {
      show(problem, h('p', {class: 'notice'}, 'The sheet is empty.'));
      return now.first()?.focus();
    }
    // Nobody is to gain by leaving the hard ones out: a blank would be held against no key.
    const blank = now.blank();
    if (blank) {
      show(problem, h('p', {class: 'notice'}, `Item ${blank.dataset.item} of ${blank.dataset.case} is empty. Type what the sheet has, or the letter that says why there is no score: o for one that was left out.`));
      return blank.focus();
    }
    bring(`sheet of ${rater.value}`, now.csv(rater.value, round.value), () => { now.clear(); rater.value = ''; rater.focus(); });
  });
  draw();
  return form;
}

function fileForm() {
  const {outcome, problem, clear, bring} = preview();
  const file = h('input', {id: 'file', type: 'file', accept: '.csv,text/csv', oninput: clear});
  const form = h('form', {class: 'form', novalidate: true},
    field(file, 'File of scores (CSV)', 'Columns rater, case, item, score; also round, sitting, trial, status, seconds.'),
    problem, h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'Preview the file')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    clear();
    const chosen = file.files?.[0];
    if (!chosen) return faultAt(file, 'Choose a file first.');
    attempt(problem, async () => bring(chosen.name, await chosen.text(), () => { form.reset(); file.focus(); }));
  });
  return h('div', {}, form, outcome);
}

/** @param {number} [focused]  the import whose row takes the focus */
async function list(focused = 0) {
  const all = /** @type {any[]} */ (await get('/api/imports'));
  show(imports, h('h2', {}, 'Imports'), all.length ? records('What was imported', ['Import', 'When', 'By', 'What', 'New', 'Take back'],
    all.map(one => [h('span', {id: `import-${one.number}`}, one.number), dateTime(one.at), one.by, one.name, String(one.added), one.undone ? `taken back ${dateTime(one.undone)}`
      : asks('Take back', `import ${one.number}`, `${count(one.added, 'score')} of import ${one.number} are taken out again.`, async () => {
        await send('DELETE', `/api/imports/${part(String(one.number))}`);
        await list(one.number);
      })]), ['', '', '', '', 'number', '']) : h('p', {}, 'Nothing was imported yet.'));
  if (focused) focusOn(document.getElementById(`import-${focused}`));
}

const entry = h('div', {}), problem = h('div', {role: 'alert'});
show(content, departmentNav(), problem, entry, h('h2', {}, 'From a file'), fileForm(), imports);
attempt(problem, async () => {
  const [choices, all] = await Promise.all([get('/api/imports/choices'), get('/api/rounds')]);
  rounds = all;
  show(entry, entryForm(choices));
  await list();
});
