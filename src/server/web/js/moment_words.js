// @ts-check
// The moments of a timeline in words.

/** @typedef {import('./types').Moment} Moment */

/** Who speaks. @param {string} who */
export const speaker = who => who === 'child' ? 'The child' : 'The therapist';

/** What is seen at a moment. @param {Moment} moment */
export function seenWords(moment) {
  if (moment.text) return moment.text;
  if (moment.says) return '';
  return [...moment.events, ...moment.helpers, ...moment.contacts, ...moment.poses]
    .filter(word => word !== 'time-called').map(word => word.replaceAll('-', ' ')).join(', ');
}

/** How much an adult's hands do; no picture shows it. */
const helpWords = new Map([
  ['hand-rests', 'A hand rests on the child.'], ['light-hand', 'One hand helps lightly.'],
  ['both-hands', 'Two hands carry a fair part of the weight.'], ['carries', 'The adult carries most of the weight.'],
]);

/** What has to be told even where the picture is to be read. @param {Moment} moment */
export const toldWords = moment => moment.helpers.map(word => helpWords.get(word) ?? '').filter(Boolean).join(' ');

/** What is heard. @param {Moment} moment @returns {{who: string, words: string} | null} */
export function heardAt(moment) {
  if (moment.says) return moment.says;
  return moment.events.includes('time-called') ? {who: 'helper', words: 'Time.'} : null;
}

/** What the rule reads; who sees the picture reads it there. @param {Moment} moment */
const ruleWords = ({reach}) =>
  typeof reach !== 'number' ? '' : `On the rule: ${Number((reach / 2.54).toFixed(1))} inches (${reach} cm).`;

/** All of it. @param {Moment} moment */
export function momentWords(moment) {
  const heard = heardAt(moment);
  return [seenWords(moment), ruleWords(moment), heard ? `${speaker(heard.who)} says: \u201c${heard.words}\u201d` : ''].filter(Boolean).join(' ');
}
