// @ts-check
// For the department's lead: the log of who saw and changed what, and the retention period.

import { h, show, byId, dateTime, records, focusOn } from './dom.js';
import { get, send, words } from './api.js';
import { ask, attempt, field, numberIn } from './fields.js';
import './frame.js';

const content = byId('content');

const deeds = /** @type {Record<string, string>} */ ({'saw-board': 'looked at a group', 'saw-rater': 'looked at a rater', 'saw-case-item': 'looked at who gave what on an item',
  'saw-sign-off': 'downloaded a signed version', 'took-report': 'downloaded a report', assigned: 'gave a set', withdrew: 'withdrew a set', remarked: 'wrote a remark',
  'signed-off': 'signed a report', 'set-retention': 'set the retention period', 'saw-audit': 'looked at this log', purged: 'the retention period took what was due',
  'opened-round': 'opened a round', 'closed-round': 'closed a round', 'reopened-round': 'opened a round again', 'locked-round': 'locked a round',
  'saw-result': 'looked at the result of a round', imported: 'imported scores', 'took-back': 'took an import back', ruled: 'put rulings in force', 'saw-draft': 'looked at the key of a draft', 'gave-reading': 'scored a case without seeing its key', published: 'put a case into the library', 'composed-set': 'put a set in force', 'set-standard': 'put a standard in force', 'wrote-words': 'wrote for the report of a round', 'made-claim': 'made a link for a rater known from paper', claimed: 'took over the own scores from paper', 'reopened-panel': 'opened a panel again', arranged: 'arranged something with a rater', 'decided-described': 'said whether a described trial is accepted'});

/** @param {number | null} now */
function retention(now) {
  const problem = h('div', {role: 'alert'}), done = h('div', {role: 'status'}), question = h('div', {});
  const days = h('input', {id: 'days', inputmode: 'numeric', maxlength: '5', autocomplete: 'off', value: now === null ? '' : String(now)});
  const form = h('form', {class: 'form', novalidate: true}, field(days, 'Days',
    'Students who were not here for so long are erased, unless something of theirs is younger, a sign-off of theirs is in force, or a locked round holds scores of theirs; entries of the log go when they are so old. From 30. Empty: nothing goes by itself.'),
  problem, h('p', {}, h('button', {type: 'submit'}, 'Set the period')), question, done);
  /** @param {number | null} wanted */
  const set = async wanted => {
    const kept = await send('PUT', '/api/retention', {days: wanted});
    show(question);
    show(done, h('p', {}, kept.days === null ? 'Nothing goes by itself now.' : `Set to ${kept.days} days; what is older goes within the hour.`));
    focusOn(done);
  };
  days.addEventListener('input', () => show(question));
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(done);
    show(question);
    const wanted = numberIn(days, {name: 'Days', from: 30, to: 7320, empty: true});
    if (wanted === undefined) return;
    if (wanted === null) {
      attempt(problem, () => set(null), form);
      return;
    }
    ask(question, {question: `Within the hour, students not seen for ${wanted} days are erased with all their scores, save those named above. Nothing brings them back but a backup.`,
      yes: `Set to ${wanted} days`, deed: () => set(wanted), back: () => {
        show(question);
        days.focus();
      }});
  });
  return form;
}

async function start() {
  try {
    const [entries, {days}, choices, rounds] = await Promise.all([get('/api/audit'), get('/api/retention'), get('/api/rounds/choices').catch(() => null), get('/api/rounds').catch(() => [])]);
    const titles = new Map([...(choices?.groups ?? []), ...rounds].map((/** @type {any} */ one) => [one.id, `"${one.title}"`]));
    /** Groups and rounds by their titles; what has none by what it is. @param {string} about */
    const named = about => about.replace(/ ?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, id => titles.has(id.trim()) ? ` ${titles.get(id.trim())}` : '');
    show(content, h('section', {class: 'no-print'}, h('h2', {}, 'Retention period'), retention(days)), h('h2', {}, 'The latest 500 entries'),
      entries.length ? records('Who saw and changed what', ['When', 'Who', 'What', 'Whose', 'About'], entries.map((/** @type {any} */ one) => [
        dateTime(one.at), one.actor ?? (one.deed === 'purged' ? 'the program' : 'erased'), deeds[one.deed] ?? one.deed, one.subject ?? '', named(one.about)])) : h('p', {}, 'None yet.'));
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
  }
}

start();
