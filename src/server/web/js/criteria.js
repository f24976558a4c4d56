// @ts-check
// How far the criteria of an instrument's items were confirmed. Only the printed form, held beside them by a
// therapist, confirms them; until then whoever uses them is told what they rest on.

import { h, count, records } from './dom.js';

/** @typedef {import('./types').InstrumentItem} Item */

const hows = /** @type {Record<string, string>} */ ({'printed-form': 'held against the printed form', published: 'renderings of the publication',
  'common-practice': 'common practice', 'from-memory': 'memory'});

/** @param {Item} item */
export const isConfirmed = item => item.confirmed?.how === 'printed-form';

/** @param {Item} item */
const restsOn = item => hows[item.confirmed?.how ?? ''] ?? 'nothing that is named';

/**
 * For the first page of a check: that it uses criteria nobody has held against the printed form. Null: it uses none.
 * @param {Item[]} items  of the instrument
 * @param {Set<string>} used  ids
 */
export function criteriaNote(items, used) {
  const open = items.filter(item => used.has(item.id) && !isConfirmed(item));
  if (!open.length) return null;
  const which = open.length === used.size ? (open.length === 1 ? 'the item' : `all ${open.length} items`) : open.length === 1 ? `item ${open[0].id}` : `items ${open.map(item => item.id).join(', ')}`;
  return h('details', {class: 'fold criteria'}, h('summary', {}, 'Criteria not confirmed yet'),
    h('p', {}, `The criteria of ${which} in this set have not been held against the printed form by a therapist yet. For a real child the published form counts.`),
    h('ul', {}, open.map(item => h('li', {}, h('b', {}, `${item.id} ${item.name}: `), `${restsOn(item)}${item.confirmed?.note ? `; ${item.confirmed.note}` : ''}.`))));
}

/**
 * Every item with what its criteria rest on, for whoever teaches by them.
 * @param {{title: string, items: Item[]}} instrument
 */
export function criteriaTable(instrument) {
  const open = instrument.items.filter(item => !isConfirmed(item));
  return [h('p', {}, open.length === instrument.items.length ? `None of the ${count(open.length, 'item')} has been held against the printed form yet.`
    : open.length ? `Not held against the printed form yet: ${open.map(item => item.id).join(', ')}.` : 'Every item has been held against the printed form.',
  ' A skills check that uses such an item says so on its first page, and so does its report. A therapist who owns the form compares item by item; the department then keeps its own copy of the instrument, where such an item says ', h('code', {}, 'confirmed: {how: printed-form, note: ...}'), '.'),
  records(`What the criteria of the ${instrument.title} rest on`, ['Item', 'They rest on', 'Still open'],
    instrument.items.map(item => [`${item.id} ${item.name}`, isConfirmed(item) ? restsOn(item) : h('b', {}, restsOn(item)), item.confirmed?.note ?? '']))];
}
