// @ts-check
// For the department's lead: the log of who saw and changed what, and the retention period.

import { h, show, byId, dateTime, records } from './dom.js';
import { get, send } from './api.js';
import { attempt, words } from './instructor.js';
import './frame.js';

const content = byId('content');

const deeds = /** @type {Record<string, string>} */ ({'saw-board': 'looked at a group', 'saw-rater': 'looked at a rater', 'saw-case-item': 'looked at who gave what on an item',
  'saw-sign-off': 'downloaded a signed version', 'took-report': 'downloaded a report', assigned: 'gave a set', withdrew: 'withdrew a set', remarked: 'wrote a remark',
  'signed-off': 'signed a report', 'set-retention': 'set the retention period', 'saw-audit': 'looked at this log', purged: 'the retention period took what was due'});

/** @param {number | null} now */
function retention(now) {
  const problem = h('div', {role: 'alert'}), done = h('div', {role: 'status'});
  const days = h('input', {id: 'days', inputmode: 'numeric', maxlength: '4', autocomplete: 'off', value: now === null ? '' : String(now), 'aria-describedby': 'days-hint'});
  const form = h('form', {class: 'form', novalidate: true}, problem, h('p', {class: 'field'}, h('label', {for: 'days'}, 'Days'),
    h('span', {class: 'hint', id: 'days-hint'}, 'Students who were not here for so long go with all that is kept of them, unless something of theirs is younger, a sign-off of theirs is in force, or a locked round holds scores of theirs; entries of the log go when they are so old. From 30. Empty: nothing goes by itself.'), days),
  h('p', {}, h('button', {type: 'submit'}, 'Set the period')), done);
  form.addEventListener('submit', event => {
    event.preventDefault();
    show(done);
    attempt(problem, async () => {
      const text = days.value.trim();
      const set = await send('PUT', '/api/retention', {days: text ? Number(text) : null});
      show(done, h('p', {}, set.days === null ? 'Nothing goes by itself now.' : `Set to ${set.days} days; what is older goes within the hour.`));
    });
  });
  return form;
}

async function start() {
  try {
    const [entries, {days}] = await Promise.all([get('/api/audit'), get('/api/retention')]);
    show(content, h('h2', {}, 'Retention period'), retention(days), h('h2', {}, 'The latest 500 entries'),
      entries.length ? records('Who saw and changed what', ['When', 'Who', 'What', 'Whose', 'About'], entries.map((/** @type {any} */ one) => [
        dateTime(one.at), one.actor ?? (one.deed === 'purged' ? 'the program' : 'erased'), deeds[one.deed] ?? one.deed, one.subject ?? '', one.about])) : h('p', {}, 'None yet.'));
  } catch (error) {
    show(content, h('p', {class: 'notice'}, words(error)));
  }
}

start();
