// @ts-check
// What only the authors can say in the report of a round: a field each, every version kept, the empty ones visible.

import { h, show, dateTime, count, focusOn } from './dom.js';
import { get, send, part } from './api.js';
import { attempt, field } from './fields.js';

/**
 * @typedef {{words: string, by: string | null, at: string}} Version
 * @typedef {{field: string, number: number, asks: string, answered: string | null, words: string, versions: Version[]}} Field
 * @typedef {{round: string, read: number, may_write: boolean, locked: string | null, longest: number, fields: Field[]}} Words
 */

/** @param {Version} one */
const whoWhen = one => `${dateTime(one.at)}, ${one.by ?? 'by one who has left'}`;

/** @param {Field} of */
function history(of) {
  const last = of.versions.at(-1);
  if (!last) return null;
  const earlier = of.versions.slice(0, -1).reverse();
  return [h('p', {class: 'hint'}, `Last written ${whoWhen(last)}.`),
    earlier.length ? h('details', {class: 'fold'}, h('summary', {}, count(earlier.length, 'earlier version'), h('span', {class: 'unseen'}, ` of: ${of.asks}`)),
      h('ul', {}, earlier.map(one => h('li', {}, h('p', {class: 'hint'}, whoWhen(one)), h('p', {class: 'as-written'}, one.words || 'Empty.'))))) : null];
}

/** @param {Words} of */
function filled(of) {
  const said = of.fields.filter(one => one.words).length;
  return said === of.fields.length ? `All ${said} points have words.`
    : `${said ? `${said} of ${of.fields.length} points have words` : `None of the ${of.fields.length} points has words yet`}. An empty one is shown as empty in the report.`;
}

/** For who may only read. @param {Words} of */
const asText = of => h('dl', {class: 'stack'}, of.fields.map(one => h('div', {}, h('dt', {}, one.asks), h('dd', {class: 'as-written'}, one.words || 'Not said.'))));

/** @param {Words} of @param {(now: Words, said: string) => void} draw */
function form(of, draw) {
  const problem = h('div', {role: 'alert'});
  const boxes = of.fields.map(one => ({one, box: /** @type {HTMLTextAreaElement} */ (h('textarea', {id: one.field, rows: '3', maxlength: String(of.longest)}, one.words))}));
  const form = h('form', {class: 'form', novalidate: true}, boxes.map(({one, box}) => h('div', {},
    field(box, one.asks, one.words ? '' : one.answered ? `${one.answered}.` : 'Empty so far.'), history(one))),
  problem, h('p', {}, h('button', {type: 'submit'}, 'Save for the report')));
  form.addEventListener('submit', event => {
    event.preventDefault();
    const words = Object.fromEntries(boxes.filter(({one, box}) => box.value !== one.words).map(({one, box}) => [one.field, box.value]));
    attempt(problem, async () => {
      const now = await send('PUT', `/api/rounds/${part(of.round)}/words`, {read: of.read, words});
      draw(now, Object.keys(words).length ? 'Saved. The report of this round has these words from now on.' : 'Nothing was changed, so nothing was saved.');
    }, form);
  });
  return form;
}

/** The section of a round's page. Rejected where there is no such round. @param {string} id @returns {Promise<HTMLElement>} */
export async function roundWords(id) {
  const host = h('div', {}), status = h('div', {role: 'status'});
  /** @param {Words} of @param {string} said @param {boolean} open */
  const draw = (of, said, open) => {
    show(status, said ? h('p', {class: 'notice', tabindex: '-1'}, said) : null);
    show(host, h('p', {}, filled(of)),
      h('details', {class: 'fold', open}, h('summary', {}, of.may_write ? 'Write or change them' : 'Read them'),
        of.may_write && of.locked ? h('p', {class: 'hint'}, 'The round is locked: its scores and its result stay as they are. These are words about them, so they may still be written; every version is kept, with who wrote it and when.') : null,
        of.may_write ? form(of, (now, told) => {
          draw(now, told, false);
          focusOn(/** @type {HTMLElement | null} */ (status.querySelector('p')));
        }) : asText(of)));
  };
  draw(await get(`/api/rounds/${part(id)}/words`), '', false);
  return h('section', {class: 'no-print', 'aria-labelledby': 'own-words'}, h('h2', {id: 'own-words'}, 'What only you can say'),
    h('p', {}, 'The guideline by which studies of agreement are reported (GRRAS) asks for more than scores: whom they are about, how raters and cases were picked, who allowed it. The program cannot know that. Name no child and no rater here: everybody who gets the report reads it.'),
    status, host);
}
