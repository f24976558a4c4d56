// @ts-check
// What the check of a draft says: faults with their lines, and item by item the key that follows, with its reason and
// the performance as a rater will see it.

import { h, show, count } from './dom.js';
import { Trials } from './trials.js';

/** @typedef {{line: number, column: number, says: string, mend: string | null}} Fault */

/** @param {any} item  of the check */
function verdict(item) {
  if (!item.readable) return 'cannot be read yet';
  if (item.skip_rule) return `${item.follows}, by the skip rule`;
  if (item.follows === null) return 'no key follows';
  return item.follows.replaceAll('-', ' ');
}

/** @param {any} item */
function marks(item) {
  if (!item.readable) return [h('span', {class: 'tag fault'}, 'fault')];
  return [
    item.differs ? h('span', {class: 'tag fault'}, `stated as ${item.stated}`) : null,
    item.no_key ? h('span', {class: 'tag fault'}, 'no key') : null,
    item.borderline ? h('span', {class: 'tag'}, 'borderline') : null,
    item.gray ? h('span', {class: 'tag'}, 'by a ruling') : null,
    item.in_force ? h('span', {class: 'tag'}, `${item.in_force} under your rulings`) : null];
}

/**
 * @param {{figure: any, toLine: (line: number) => void, announce: (text: string) => void}} of
 */
export function checkView({figure, toLine, announce}) {
  const summary = h('p', {role: 'status'}), trouble = h('div', {}), faults = h('div', {}), items = h('div', {class: 'checked'});
  const host = h('div', {}, summary, trouble, faults, items);
  /** @type {Map<string, any>} items as they are shown, by id */
  const shown = new Map();

  /** @param {string} title @param {Fault[]} all */
  const list = (title, all) => all.length === 0 ? null : h('section', {'aria-label': title},
    h('h3', {}, title), h('ul', {class: 'faults'}, all.map(fault => h('li', {},
      fault.line ? h('button', {type: 'button', class: 'quiet', onclick: () => toLine(fault.line)}, `Line ${fault.line}`) : null,
      ' ', fault.says, fault.mend ? h('span', {class: 'hint'}, ` To mend it: ${fault.mend}.`) : null))));

  /** @param {any} item */
  const body = item => {
    const performance = h('div', {});
    const trials = item.shown?.trials ?? [];
    const watch = new Trials(performance, trials, {poses: figure, announce, item: item.item, watch: false, prefix: `check-${item.item}`});
    if (item.deciding_trial !== null && item.deciding_trial !== undefined && trials.length > 1) watch.mark(item.deciding_trial);
    return {node: h('div', {},
      h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => toLine(item.line)}, `To line ${item.line}`, h('span', {class: 'unseen'}, ` of item ${item.item}`))),
      item.no_key ? h('p', {class: 'problem'}, `No key follows: ${item.no_key}.`) : null,
      item.reason.map((/** @type {string} */ one) => h('p', {}, one)),
      item.gray ? h('p', {class: 'hint'}, `The criteria leave it open; ruling ${item.gray}.`) : null,
      item.in_force ? h('p', {class: 'hint'}, `The key is stated under the rulings that come with the program. Under the department's own it is ${item.in_force}, and scores are held against that.`) : null,
      trials.length ? performance : h('p', {class: 'hint'}, 'Nothing is shown here.')), destroy: () => watch.destroy()};
  };

  /** @param {any} item */
  const card = item => {
    const known = shown.get(item.item), text = JSON.stringify(item);
    if (known && known.text === text) return known.fold;
    known?.destroy?.();
    const entry = {text, fold: /** @type {any} */ (null), destroy: () => {}};
    const inside = h('div', {});
    entry.fold = h('details', {class: 'fold', open: known?.fold.open ?? false, ontoggle: () => {
      if (!entry.fold.open || inside.childElementCount || !item.readable) return;
      const made = body(item);
      entry.destroy = made.destroy;
      show(inside, made.node);
    }}, h('summary', {}, `${item.item} ${item.name}: `, h('b', {}, verdict(item)), marks(item)), inside);
    if (!item.readable) show(inside, h('p', {}, 'A fault stands in its lines: see above.'));
    shown.set(item.item, entry);
    return entry.fold;
  };

  return {
    host,
    /** @param {any} check */
    update(check) {
      const n = check.faults.length;
      show(trouble);
      const total = check.total && n === 0 ? ` ${check.total.points} of ${check.total.maximum} points over ${count(check.total.items, 'item')}.` : '';
      summary.textContent = n ? `${count(n, 'fault')} to mend.` : `No fault.${total}`;
      show(faults, list(count(n, 'fault'), check.faults), list(count(check.remarks.length, 'remark on style', 'remarks on style'), check.remarks));
      if (check.items.length) show(items, h('h3', {}, 'Keys as they follow'), check.items.map(card));
      else if (!items.childElementCount) show(items, h('p', {class: 'hint'}, 'The keys appear when the text can be read.'));
    },
    /** @param {string} says */
    fail(says) { show(trouble, h('p', {class: 'notice'}, says)); },
  };
}
