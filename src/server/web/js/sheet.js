// @ts-check
// A score sheet for the keyboard alone: a digit is a score and moves on. What is typed is kept by case and item.

import { h } from './dom.js';

/** One letter for each way of having no score. @type {Record<string, [string, string]>} */
const letters = {n: ['not-tested', 'not tested'], o: ['omitted', 'left out'], r: ['refused', 'refused'], u: ['unsafe', 'unsafe'],
  c: ['cannot-rate', 'cannot rate'], k: ['skip-rule', 'filled by the skip rule']};

/** @typedef {{id: string, name: string, levels: string[], filled_with: string | null}} Item  filled_with: by a skip rule */
/** @typedef {{id: string, title: string, rows: {case: string, items: string[]}[], items: Item[]}} SheetSet */

/** As a field of a CSV file. @param {string} text */
const quoted = text => /[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;

/** The letters that an item takes. @param {Item} item */
const lettersOf = item => Object.keys(letters).filter(one => one !== 'k' || item.filled_with !== null);

/** @param {Item} item @param {string} mark */
const takes = (item, mark) => item.levels.includes(mark) || lettersOf(item).includes(mark);

/**
 * The sheet of a set.
 * @param {SheetSet} set
 * @param {Map<string, string>} marks  by case and item; those of other sets stay in it
 * @param {{changed: () => void, says: (fault: string) => void, full: () => void}} tell  what happens: a mark changed, one was not taken, the last cell was filled
 */
export function sheet(set, marks, tell) {
  /** @type {HTMLInputElement[]} */
  const cells = [];
  let now = 0;
  const nameOf = (/** @type {HTMLInputElement} */ cell) => `${cell.dataset.case}/${cell.dataset.item}`;
  const to = (/** @type {number} */ other) => { cells[other]?.focus(); cells[other]?.select(); };

  /** @param {number} place @param {string} mark  empty: none */
  const write = (place, mark) => {
    cells[place].value = mark;
    if (mark) marks.set(nameOf(cells[place]), mark);
    else marks.delete(nameOf(cells[place]));
    tell.changed();
  };
  /** @param {number} place @param {Item} item @param {string} typed */
  const put = (place, item, typed) => {
    const mark = typed.toLowerCase();
    if (!takes(item, mark)) {
      cells[place].value = marks.get(nameOf(cells[place])) ?? '';
      tell.says(`Item ${item.id} takes ${item.levels.join(', ')}, or one of ${lettersOf(item).join(', ')}.`);
      return;
    }
    write(place, mark);
    if (place + 1 < cells.length) to(place + 1);
    else tell.full();
  };
  /** @param {number} place */
  const back = place => {
    if (cells[place].value) write(place, '');
    else if (place > 0) {
      write(place - 1, '');
      to(place - 1);
    }
  };
  /** @param {KeyboardEvent} event @param {number} place @param {Item} item */
  const pressed = (event, place, item) => {
    // Keyboards on a screen send no key that means anything: what they write comes as input, below.
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing || event.key === 'Unidentified') return;
    if (event.key === 'Backspace') {
      event.preventDefault();
      back(place);
    } else if (event.key === 'ArrowLeft' || event.key === 'ArrowRight') {
      event.preventDefault();
      to(place + (event.key === 'ArrowLeft' ? -1 : 1));
    } else if (event.key === 'ArrowUp' || event.key === 'ArrowDown') {
      event.preventDefault();
      const step = event.key === 'ArrowUp' ? -1 : 1;
      for (let i = place + step; i >= 0 && i < cells.length; i += step)
        if (cells[i].dataset.item === item.id) { to(i); break; }
    } else if (event.key.length === 1) {
      event.preventDefault();
      put(place, item, event.key);
    }
  };

  /** @param {string} row @param {Item} item */
  const cell = (row, item) => {
    const place = cells.length;
    const kept = marks.get(`${row}/${item.id}`) ?? '';
    const input = h('input', {class: 'mark', inputmode: 'numeric', enterkeyhint: 'next', autocomplete: 'off', autocapitalize: 'none', spellcheck: 'false',
      'aria-label': `Case ${row}, item ${item.id}`, 'data-case': row, 'data-item': item.id, value: takes(item, kept) ? kept : '',
      onfocus: () => { now = place; },
      onkeydown: (/** @type {KeyboardEvent} */ event) => pressed(event, place, item),
      onbeforeinput: (/** @type {InputEvent} */ event) => {
        if (event.inputType !== 'deleteContentBackward' || input.value) return;
        event.preventDefault();
        back(place);
      },
      oninput: () => {
        const typed = [...input.value.replace(/\s/g, '')].at(-1) ?? '';
        if (typed) put(place, item, typed);
        else write(place, '');
      }});
    cells.push(input);
    return h('td', {}, input);
  };
  const rows = set.rows.map(row => h('tr', {}, h('th', {scope: 'row'}, row.case),
    set.items.map(item => row.items.includes(item.id) ? cell(row.case, item) : h('td', {class: 'closed'}, '\u2013'))));
  // Keyboards for digits have no letters: the same as buttons, for the cell that was last in use.
  const buttons = Object.entries(letters).filter(([letter]) => letter !== 'k' || set.items.some(item => item.filled_with !== null)).map(([letter, [, words]]) =>
    h('button', {type: 'button', class: 'quiet small', onclick: () => {
      const item = set.items.find(one => one.id === cells[now]?.dataset.item);
      if (!item) return;
      to(now);
      put(now, item, letter);
    }}, h('kbd', {}, letter), ` ${words}`));
  const filled = () => cells.filter(one => one.value);
  return {
    element: h('div', {}, h('div', {class: 'row', role: 'group', 'aria-label': 'No score, in the cell last used'}, buttons),
      h('div', {class: 'scroll', role: 'region', 'aria-label': 'Score sheet', tabindex: '0'}, h('table', {class: 'sheet'},
        h('caption', {}, set.title), h('thead', {}, h('tr', {}, h('th', {scope: 'col'}, 'Case'), set.items.map(item =>
          h('th', {scope: 'col', title: item.name}, item.id)))), h('tbody', {}, rows)))),
    first: () => cells[0],
    filled: () => filled().length,
    /** The first empty cell of a case that was begun. */
    blank: () => cells.find(one => !one.value && filled().some(other => other.dataset.case === one.dataset.case)),
    clear: () => { for (const one of filled()) { marks.delete(nameOf(one)); one.value = ''; } },
    /** @param {string} rater @param {string} round */
    csv: (rater, round) => ['rater,round,case,item,score,status', ...filled().map(one => {
      const item = set.items.find(each => each.id === one.dataset.item);
      const status = letters[one.value]?.[0] ?? '';
      const score = status === 'skip-rule' ? item?.filled_with ?? '' : status ? '' : one.value;
      return [rater, round, one.dataset.case ?? '', one.dataset.item ?? '', score, status].map(quoted).join(',');
    })].join('\n') + '\n',
  };
}
