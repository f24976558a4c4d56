// @ts-check
// What an author begins an item with: its trials to be filled in, and the facts that have to be stated.

/** @typedef {import('./types').Instrument} Instrument */
/** @typedef {import('./types').InstrumentItem} Item */

/** What has no usual value must be stated. @param {Instrument} instrument @param {Item} item */
function stated(instrument, item) {
  return item.observe.filter(id => instrument.observations[id].usual.length === 0).map(id => {
    const one = instrument.observations[id];
    return `${id}: ${one.values?.[0]?.id ?? `${one.from ?? 0}${one.unit ? ` ${one.unit}` : ''}`}`;
  }).join(', ');
}

/** What may be stated where it is not as usual, as comments. @param {Instrument} instrument @param {Item} item */
function possible(instrument, item) {
  return item.observe.map(id => {
    const one = instrument.observations[id];
    const values = item.possible[id] ?? one.values?.map(value => value.id) ?? [];
    const usual = one.usual.length ? `; as usual: ${one.usual.join(' or ')}` : '';
    return `          # ${id}: ${values.length ? values.join(', ') : `a number${one.unit ? ` in ${one.unit}` : ''}`}${usual}`;
  }).join('\n');
}

/** @param {Instrument} instrument @param {Item} item @param {boolean} timed */
function trials(instrument, item, timed) {
  const ways = item.trials.ways?.length ? item.trials.ways : [''];
  return ways.map(way => {
    const facts = `        observed: {${stated(instrument, item)}}\n${possible(instrument, item)}`;
    const of = way ? `way: ${way}\n        ` : '';
    if (!timed) return `      - ${of}written: >\n          What is seen and heard, in order, in 40 to 120 words.\n${facts}`;
    return `      - ${of}timeline:\n          - {at: 0.0, pose: standing, helper: near, text: What is seen at first.}\n` +
      `          - {at: 3.0, event: position-taken, text: The position is taken.}\n          - {at: 20.0, event: near-loss, text: What happens then.}\n` +
      `          - {at: 35.0, event: time-called, says: {who: helper, words: Stop.}}\n${facts}`;
  }).join('\n');
}

/** The text of an item with trials to fill in. @param {Instrument} instrument @param {Item} item @param {boolean} timed */
export function template(instrument, item, timed) {
  return `  - item: "${item.id}"\n    key: "${item.levels[0]?.label ?? '0'}"\n    trials:\n${trials(instrument, item, timed)}\n`;
}

/**
 * The text with the item's lines replaced by a template; and the line where it begins.
 * @param {string} text @param {string} block @param {number} line  where the item begins; 0: it is not there
 * @param {number} next  where the next one begins; 0: none does
 */
export function withItem(text, block, line, next) {
  const lines = text.replace(/\n$/, '').split('\n');
  if (line < 1) return {text: `${lines.join('\n')}\n${block}`, line: lines.length + 1};
  let end = next > line ? next - 1 : lines.length;
  // The comment above an item belongs to it.
  while (end > line && /^\s*#/.test(lines[end - 1])) end -= 1;
  return {text: [...lines.slice(0, line - 1), ...block.replace(/\n$/, '').split('\n'), ...lines.slice(end)].join('\n') + '\n', line};
}
