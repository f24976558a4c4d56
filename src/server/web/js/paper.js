// @ts-check
// Scores from paper: a sheet for the keyboard alone, and files with a preview; every import can be taken back.

import { h, show, byId, dateTime, table, count } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, departmentNav } from './department_nav.js';
import './frame.js';

const content = byId('content');
const problem = h('div', {role: 'alert'});
const outcome = h('div', {role: 'status'});
const sheet = h('div', {});
const imports = h('div', {});

/** One letter for each way of having no score. @type {Record<string, [string, string]>} */
const letters = {n: ['not-tested', 'not tested'], o: ['omitted', 'left out'], r: ['refused', 'refused'], u: ['unsafe', 'unsafe'],
  c: ['cannot-rate', 'cannot rate'], k: ['skip-rule', 'filled by the skip rule']};

/** @typedef {{id: string, name: string, levels: string[], filled_with: string | null}} Item  filled_with: by a skip rule */
/** @typedef {{id: string, title: string, rows: {case: string, items: string[]}[], items: Item[]}} SheetSet */

/** @param {string} text */
const field = text => /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;

/** Shows what a file would bring, and takes it in when that is wanted. @param {string} name @param {string} text @param {() => void} after */
function look(name, text, after) {
  return attempt(problem, async () => {
    const seen = await send('POST', '/api/imports/preview', {name, text});
    const refused = /** @type {{line: number, says: string}[]} */ (seen.refused);
    show(outcome, h('h2', {}, 'What it brings'),
      h('p', {}, `${count(seen.rows, 'row')} of ${seen.raters.length ? seen.raters.join(', ') : 'no rater'}: ${seen.added} new, ${seen.unchanged} there already, ${
        count(refused.length, 'row')} refused.`),
      refused.length ? [h('p', {}, 'Nothing can be taken in until these are mended:'), table('Rows that cannot be taken', ['Line', 'Why'],
        refused.map(one => [String(one.line), one.says]), ['number', ''])] : null,
      seen.differs ? [h('p', {}, 'The store has other scores in their place:'), h('pre', {class: 'scroll', tabindex: '0'}, seen.differs)] : null,
      seen.notes.length ? h('ul', {}, seen.notes.map((/** @type {string} */ note) => h('li', {}, note))) : null,
      seen.confirm && seen.added ? h('p', {class: 'actions'}, h('button', {type: 'button', id: 'take-in', onclick: () => attempt(problem, async () => {
        const made = await send('POST', '/api/imports', {name, text, confirm: seen.confirm});
        show(outcome, h('p', {class: 'notice'}, `Import ${made.number}: ${count(made.added, 'score')} taken in. It can be taken back below.`));
        after();
        await list();
      })}, 'Take in')) : null);
    document.getElementById('take-in')?.focus();
  });
}

/** @param {SheetSet} set */
function grid(set) {
  /** @type {HTMLInputElement[]} */
  const cells = [];
  const rows = set.rows.map(row => {
    const inputs = set.items.map(item => {
      if (!row.items.includes(item.id)) return h('td', {class: 'closed'}, '\u2013');
      const place = cells.length;
      const input = h('input', {class: 'mark', maxlength: '1', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false',
        'aria-label': `Case ${row.case}, item ${item.id}`, 'data-case': row.case, 'data-item': item.id});
      const to = (/** @type {number} */ other) => { cells[other]?.focus(); cells[other]?.select(); };
      input.addEventListener('keydown', event => {
        if (event.ctrlKey || event.metaKey || event.altKey) return;
        const key = event.key.toLowerCase();
        if (event.key === 'Backspace') {
          event.preventDefault();
          if (input.value) input.value = '';
          else if (place > 0) { cells[place - 1].value = ''; to(place - 1); }
        } else if (event.key === 'ArrowLeft' || event.key === 'ArrowRight') {
          event.preventDefault();
          to(place + (event.key === 'ArrowLeft' ? -1 : 1));
        } else if (event.key === 'ArrowUp' || event.key === 'ArrowDown') {
          event.preventDefault();
          const step = event.key === 'ArrowUp' ? -1 : 1;
          for (let i = place + step; i >= 0 && i < cells.length; i += step)
            if (cells[i].dataset.item === item.id) { to(i); break; }
        } else if (key.length === 1) {
          event.preventDefault();
          const words = Object.keys(letters).filter(one => one !== 'k' || item.filled_with !== null);
          if (!item.levels.includes(key) && !words.includes(key)) {
            show(outcome, h('p', {class: 'notice'}, `Item ${item.id} takes ${item.levels.join(', ')}, or one of ${words.join(', ')}.`));
            return;
          }
          show(outcome);
          input.value = key;
          if (place + 1 < cells.length) to(place + 1);
          else byId('look').focus();
        }
      });
      cells.push(input);
      return h('td', {}, input);
    });
    return h('tr', {}, h('th', {scope: 'row'}, row.case), inputs);
  });
  const csv = (/** @type {string} */ rater, /** @type {string} */ round) => {
    const lines = ['rater,round,case,item,score,status'];
    for (const input of cells) {
      if (!input.value) continue;
      const item = set.items.find(one => one.id === input.dataset.item);
      const status = letters[input.value]?.[0] ?? '';
      const score = status === 'skip-rule' ? item?.filled_with ?? '' : status ? '' : input.value;
      lines.push([rater, round, input.dataset.case ?? '', input.dataset.item ?? '', score, status].map(field).join(','));
    }
    return lines.join('\n') + '\n';
  };
  const element = h('div', {class: 'scroll', role: 'region', 'aria-label': 'Score sheet', tabindex: '0'}, h('table', {class: 'sheet'},
    h('caption', {}, set.title), h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Case'), set.items.map(item =>
      h('th', {scope: 'col', title: item.name}, item.id)))), h('tbody', {}, rows)));
  return {element, csv, clear: () => { for (const cell of cells) cell.value = ''; }, filled: () => cells.filter(cell => cell.value).length};
}

/** @param {any} choices */
function entryForm(choices) {
  const place = h('div', {});
  /** @type {ReturnType<typeof grid>} */
  let now;
  const rater = h('input', {id: 'rater', list: 'raters', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false', maxlength: '40'});
  const round = h('select', {id: 'round'}, h('option', {value: ''}, 'none'), choices.rounds.map((/** @type {any} */ one) =>
    h('option', {value: one.id, 'data-set': one.set}, one.title)));
  const set = h('select', {id: 'set'}, choices.sets.map((/** @type {SheetSet} */ one) => h('option', {value: one.id}, one.title)));
  const draw = () => {
    now = grid(choices.sets.find((/** @type {SheetSet} */ one) => one.id === set.value));
    show(place, now.element);
  };
  set.addEventListener('change', draw);
  round.addEventListener('change', () => {
    const wanted = round.selectedOptions[0]?.getAttribute('data-set');
    if (wanted && wanted !== set.value) { set.value = wanted; draw(); }
  });
  const form = h('form', {novalidate: true},
    h('div', {class: 'pick'},
      h('p', {class: 'field'}, h('label', {for: 'rater'}, 'Rater id'), rater,
        h('datalist', {id: 'raters'}, choices.raters.map((/** @type {string} */ one) => h('option', {value: one})))),
      h('p', {class: 'field'}, h('label', {for: 'round'}, 'Round'), round),
      h('p', {class: 'field'}, h('label', {for: 'set'}, 'Set'), set)),
    h('p', {class: 'hint'}, 'A digit is a score and moves on. ', Object.entries(letters).map(([letter, [, words]], i) =>
      [i ? ', ' : '', h('kbd', {}, letter), ` ${words}`]), '. ', h('kbd', {}, 'Backspace'), ' goes back; arrows move.'),
    place, h('p', {class: 'actions'}, h('button', {type: 'submit', id: 'look'}, 'Look at what it brings')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const id = rater.value.trim();
    const fault = !id ? 'Name the rater.' : !now.filled() ? 'The sheet is empty.' : '';
    if (fault) {
      show(problem, h('p', {class: 'notice'}, fault));
      if (!id) rater.focus();
      return;
    }
    look(`sheet of ${id}`, now.csv(id, round.value), () => { now.clear(); rater.value = ''; rater.focus(); });
  });
  draw();
  return form;
}

function fileForm() {
  const file = h('input', {id: 'file', type: 'file', accept: '.csv,text/csv', 'aria-describedby': 'file-hint'});
  const form = h('form', {class: 'form', novalidate: true}, h('p', {class: 'field'}, h('label', {for: 'file'}, 'File of scores (CSV)'),
    h('span', {class: 'hint', id: 'file-hint'}, 'Columns rater, case, item, score; also round, sitting, trial, status, seconds.'), file),
  h('p', {}, h('button', {type: 'submit', class: 'quiet'}, 'Look at the file')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const chosen = file.files?.[0];
    if (!chosen) {
      show(problem, h('p', {class: 'notice'}, 'Choose a file first.'));
      file.focus();
      return;
    }
    attempt(problem, async () => look(chosen.name, await chosen.text(), () => form.reset()));
  });
  return form;
}

async function list() {
  const all = /** @type {any[]} */ (await get('/api/imports'));
  show(imports, h('h2', {}, 'Imports'), all.length ? table('What was imported', ['Import', 'When', 'By', 'What', 'New', 'Take back'],
    all.map(one => [String(one.number), dateTime(one.at), one.by ?? '-', one.name, String(one.added), one.undone ? `taken back ${dateTime(one.undone)}`
      : h('button', {type: 'button', class: 'quiet', onclick: () => attempt(problem, async () => {
        await send('DELETE', `/api/imports/${part(String(one.number))}`);
        await list();
      })}, 'Take back', h('span', {class: 'unseen'}, ` import ${one.number}`))]), ['', '', '', '', 'number', '']) : h('p', {}, 'Nothing was imported yet.'));
}

show(content, departmentNav(), problem, sheet, outcome, h('h2', {}, 'From a file'), fileForm(), imports);
attempt(problem, async () => {
  show(sheet, entryForm(await get('/api/imports/choices')));
  await list();
});
