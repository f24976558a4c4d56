// @ts-check
// What second readers gave a draft, and the two steps by which it comes into the library.

import { h, show, count, dateTime, records, focusOn } from './dom.js';
import { send, Refusal } from './api.js';
import { changedDecisions } from './decisions.js';
import { attempt, faultAt, field } from './fields.js';

/** A score for people. @param {string | null} score */
const said = score => (score ?? 'none').replaceAll('-', ' ');

/** @param {any} draft */
export function readingsView(draft) {
  const {readers, items} = draft.readings;
  const wanted = count(draft.second_readers, 'second reader');
  if (draft.at_fault) return h('p', {}, 'A text with faults is read by nobody.');
  if (!readers.length)
    return h('p', {}, draft.offered ? `Nobody has scored this text yet. The standard asks for ${wanted}.` : `Nobody has been asked yet. The standard asks for ${wanted}.`);
  const split = items.filter((/** @type {any} */ one) => !one.agreed);
  const notes = readers.flatMap((/** @type {any} */ one, /** @type {number} */ i) => Object.entries(one.notes).map(([item, note]) =>
    h('li', {}, h('b', {}, `Item ${item}, ${one.reader ?? `reader ${i + 1}`}: `), note)));
  return h('div', {},
    h('p', {}, `${count(readers.length, 'reader has', 'readers have')} scored this text without its key, of ${draft.second_readers} that the standard asks for. `,
      split.length ? `They and the key part on ${count(split.length, 'item')}: there it decides about nobody. Mend the text and ask anew, or leave it to practice.` : 'All gave the key on every item.'),
    records('Key and readers', ['Item', 'Key', ...readers.map((/** @type {any} */ one, /** @type {number} */ i) => one.reader ?? `Reader ${i + 1}, erased`), 'Together'],
      items.map((/** @type {any} */ one) => [`${one.item} ${one.name}`, said(one.key), ...one.given.map(said), one.agreed ? 'agreed' : h('b', {}, 'split')])),
    notes.length ? [h('h3', {}, 'What they wrote'), h('ul', {}, notes)] : null,
    h('p', {class: 'hint'}, `Handed in ${readers.map((/** @type {any} */ one) => dateTime(one.at)).join(', ')}. A changed text needs new readings.`));
}

/** @param {any} look */
function decidesTable(look) {
  const decides = look.items.filter((/** @type {any} */ one) => one.decides).length;
  return [h('p', {}, decides
    ? `${count(decides, 'item')} of ${look.items.length} will decide in skills checks and rounds; the others serve practice only.`
    : 'Nothing of it will decide about anybody: it serves practice only.'),
  look.readers < look.second_readers ? h('p', {class: 'notice'}, h('strong', {}, 'For practice only. '),
    `${look.readers === 0 ? 'Nobody has' : `Only ${count(look.readers, 'reader has', 'readers have')}`} scored it without its key; the standard asks for ${look.second_readers}. Once it is in the library its key can be seen in practice, so nobody can read it blind any more: if it is meant to decide, wait for the readers.`) : null,
  records('Item by item', ['Item', 'Key', 'Second readers', 'Serves'], look.items.map((/** @type {any} */ one) => [
    `${one.item} ${one.name}`, said(one.key), one.read ? (one.given.length ? `${one.given.map(said).join(', ')}${one.agreed ? '' : ': split'}` : 'nobody') : 'nothing to score',
    one.decides ? 'decisions and practice' : `practice only: ${one.why_not}`]))];
}

/**
 * @param {any} draft @param {string} address @param {() => boolean} unsaved @param {(said: string) => Promise<any>} done
 */
export function publishing(draft, address, unsaved, done) {
  const problem = h('div', {role: 'alert'}), outcome = h('div', {});
  if (draft.at_fault) return h('p', {}, 'First mend the faults and save.');
  if (draft.published === 'same') return h('p', {}, 'It is there as it stands. Change and save the text to publish a new one.');
  /** @param {any} look */
  const confirmation = look => {
    const why = h('input', {id: 'why', maxlength: '300', autocomplete: 'off'}), fault = h('div', {role: 'alert'});
    const title = h('h3', {}, 'What will decide');
    const form = h('form', {novalidate: true}, title, decidesTable(look),
      look.replaces ? h('p', {}, 'It takes the place of the case in the library. Results of earlier scores are worked out against the new keys; a sitting keeps the fingerprint of the text it was given on. ',
        look.changes.length ? `Keys that change: ${look.changes.map((/** @type {any} */ one) => `item ${one.item}, ${one.before ?? 'none'} to ${one.after ?? 'none'}`).join('; ')}.` : 'No key changes.') : null,
      look.decisions ? [h('h4', {}, 'Whose decision would be another one'), changedDecisions(look.decisions)] : null,
      draft.may_publish ? [field(why, 'Why', 'Kept with it, in a sentence.'), fault, h('p', {class: 'actions'}, h('button', {type: 'submit'}, look.readers < look.second_readers ? 'Publish for practice only' : 'Publish'))]
        : h('p', {}, 'The lead of the department puts it into the library.'));
    form.addEventListener('submit', event => {
      event.preventDefault();
      if (!why.value.trim()) return faultAt(why, 'Say why: it is kept with the case.');
      attempt(fault, async () => {
        await send('POST', `${address}/publish`, {why: why.value.trim(), confirm: look.confirm});
        await done('Published: it is in the library of the department from now on.');
      }, form);
    });
    return {form, title};
  };
  const look = () => attempt(problem, async () => {
    show(outcome);
    if (unsaved()) throw new Refusal(0, 'unsaved', 'The text is not saved. Save it first: what is published is the saved text.');
    const found = await send('POST', `${address}/preview`, {});
    if (found.faults.length) {
      const says = h('p', {class: 'notice'}, 'The library would not take it: ', found.faults.map((/** @type {any} */ one) => one.says).join('; '));
      show(outcome, says);
      return focusOn(says);
    }
    const {form, title} = confirmation(found);
    show(outcome, form);
    focusOn(title);
  });
  return h('div', {}, h('p', {}, 'First a look at what would decide and what would serve practice only; nothing is published by looking.'), problem,
    h('p', {class: 'actions'}, h('button', {type: 'button', class: 'quiet', onclick: look}, 'Preview')), outcome);
}
