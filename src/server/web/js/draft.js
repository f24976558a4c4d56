// @ts-check
// The draft of a case: its text, and beside it what follows from it, checked while one writes.

import { h, show, announce, byId, count, dateTime, focusOn } from './dom.js';
import { get, send, part, Refusal, words } from './api.js';
import { asks, attempt, field } from './fields.js';
import { departmentNav } from './department_nav.js';
import { template, withItem } from './case_template.js';
import { checkView } from './draft_check.js';
import { publishing, readingsView } from './draft_readers.js';
import { toLine } from './source_lines.js';
import { poses } from './poses.js';
import './frame.js';

const id = decodeURIComponent(location.pathname.split('/')[3] ?? '');
const content = byId('content');
const address = `/api/workshop/drafts/${part(id)}`;
/** A pause in the typing after which it is looked at, milliseconds. */
const pause = 700;

class Writer {
  /** @param {any} draft @param {any} figure */
  constructor(draft, figure) {
    this.draft = draft;
    this.saved = draft.text;
    this.area = h('textarea', {id: 'text', class: 'source', rows: '28', spellcheck: 'false', autocapitalize: 'off', autocorrect: 'off', wrap: 'off', value: draft.text});
    this.state = h('p', {class: 'hint', role: 'status'});
    this.problem = h('div', {role: 'alert'});
    this.view = checkView({figure, toLine: line => toLine(this.area, line), announce});
    this.insert = h('div', {});
    /** @type {any} of the text as it was checked last */
    this.check = null;
    /** @type {any} */
    this.instrument = null;
    this.turn = 0;
    this.timer = 0;
    this.area.addEventListener('input', () => this.later(pause));
    addEventListener('beforeunload', event => { if (this.area.value !== this.saved) event.preventDefault(); });
  }

  /** @param {number} wait  milliseconds */
  later(wait) {
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.look(), wait);
    this.say();
  }

  say() {
    this.state.textContent = this.area.value === this.saved
      ? `Saved as version ${this.draft.version}, ${dateTime(this.draft.at)}.` : 'Not saved yet.';
  }

  /** Has the site check the text as it stands; only the latest answer is shown. */
  async look() {
    const turn = ++this.turn, text = this.area.value;
    try {
      const check = await send('POST', '/api/workshop/check', {text});
      if (turn !== this.turn) return;
      this.check = check;
      this.area.setAttribute('aria-invalid', String(check.faults.length > 0));
      if (check.instrument && this.instrument?.id !== check.instrument) this.instrument = await get(`/api/instruments/${part(check.instrument)}`);
      if (turn !== this.turn) return;
      this.view.update(check);
      this.drawInsert();
    } catch (error) {
      if (turn !== this.turn) return;
      if (error instanceof Refusal && error.status === 429) return this.later(1000 * Math.max(1, error.wait));
      this.view.fail(words(error));
    }
  }

  drawInsert() {
    if (!this.instrument || this.insert.childElementCount) return;
    const items = /** @type {any[]} */ (this.instrument.items);
    const which = h('select', {id: 'insert-item'}, items.map(one => h('option', {value: one.id}, `${one.id}  ${one.name}`)));
    const put = (/** @type {boolean} */ timed) => {
      const item = items.find(one => one.id === which.value);
      const lines = /** @type {any[]} */ (this.check?.items ?? []);
      const at = lines.find(one => one.item === item.id)?.line ?? 0;
      const next = Math.min(...lines.map(one => one.line).filter(line => line > at));
      const made = withItem(this.area.value, template(this.instrument, item, timed), at > 1 ? at : 0, Number.isFinite(next) ? next : 0);
      this.area.value = made.text;
      toLine(this.area, made.line);
      this.look();
    };
    const host = h('div', {class: 'asks'});
    const button = (/** @type {string} */ label, /** @type {boolean} */ timed) => h('button', {type: 'button', class: 'quiet', onclick: () => put(timed)}, label);
    host.append(button('Begin it as written', false), button('Begin it as timed', true));
    show(this.insert, field(which, 'Begin an item', 'The item in the text is replaced by one with trials to fill in, and the facts that can be stated beside them.'), h('p', {class: 'actions'}, [...host.children]));
  }

  /** @param {boolean} offer */
  save(offer) {
    return attempt(this.problem, async () => {
      const text = this.area.value;
      const made = await send('PUT', address, {text, after: this.draft.version, offer});
      this.saved = text;
      await draw(offer ? 'Saved, and offered to second readers.' : `Saved as version ${made.version}.`, this);
    });
  }
}

/** @param {any} draft */
function standing(draft) {
  if (draft.published === 'same') return 'This text is in the library of the department.';
  const parts = [];
  if (draft.published === 'other') parts.push('An earlier text of it is in the library; this one is not.');
  if (draft.at_fault) parts.push('The saved text has faults. It is kept all the same.');
  else if (draft.offered) parts.push('Other instructors find it in the workshop, without its key.');
  else parts.push('Nobody else sees it yet. The lead of the department can open it, and is asked first.');
  return parts.join(' ');
}

/** @param {any} draft @param {Writer} writer */
function versions(draft, writer) {
  return h('details', {class: 'fold'}, h('summary', {}, count(draft.versions.length, 'version')), h('ol', {class: 'versions', reversed: true}, draft.versions.map((/** @type {any} */ one) =>
    h('li', {value: String(one.version)}, `${dateTime(one.at)}${one.at_fault ? ', with faults' : ''}${one.offered ? ', offered to second readers' : ''} `,
      h('button', {type: 'button', class: 'quiet', onclick: () => attempt(writer.problem, async () => {
        const known = await get(`${address}/versions/${one.version}`);
        writer.area.value = known.text;
        writer.area.focus();
        await writer.look();
        writer.say();
      })}, 'Put it into the editor', h('span', {class: 'unseen'}, `, version ${one.version}`))))));
}

/** @param {string} said @param {Writer | null} before */
async function draw(said, before) {
  const [draft, figure] = await Promise.all([get(address), poses()]);
  const writer = before ?? new Writer(draft, figure);
  writer.draft = draft;
  if (!before) writer.saved = draft.text;
  byId('title').replaceChildren(h('span', {class: 'eyebrow'}, draft.own ? 'Draft of a case' : `Draft of a case, by ${draft.author ?? 'somebody erased since'}`), ' ', draft.case);
  document.title = `${draft.case} - draft - evenhand`;
  const notice = said ? h('p', {class: 'notice', role: 'status'}, said) : null;
  const host = h('div', {});
  show(content, departmentNav(), h('p', {}, h('a', {href: '/workshop'}, 'All drafts')), notice,
    h('p', {}, standing(draft)),
    h('div', {class: 'writing'},
      h('section', {'aria-labelledby': 'text-title'}, h('h2', {id: 'text-title'}, 'The text'), writer.insert,
        field(writer.area, `${draft.case}.yaml`, 'Invented children only: once it is published every rater can read this.'), writer.state, writer.problem,
        h('p', {class: 'actions'},
          h('button', {type: 'button', onclick: () => writer.save(false)}, 'Save the draft'),
          h('button', {type: 'button', class: 'quiet', onclick: () => writer.save(true)}, 'Save and ask second readers')),
        versions(draft, writer)),
      h('section', {'aria-labelledby': 'check-title'}, h('h2', {id: 'check-title'}, 'What follows from it'), writer.view.host)),
    h('section', {}, h('h2', {}, 'What second readers gave'), readingsView(draft)),
    h('section', {class: 'no-print'}, h('h2', {}, 'Into the library'), publishing(draft, address, () => writer.area.value !== writer.saved, (/** @type {string} */ text) => draw(text, writer))),
    h('section', {class: 'no-print'}, h('h2', {}, 'Withdraw'), asks('Withdraw the draft', draft.case,
      'The draft goes from the workshop for good; what is in the library stays there.', async () => {
        await send('DELETE', address);
        writer.saved = writer.area.value;
        location.assign('/workshop');
      }), host));
  writer.say();
  if (notice) focusOn(notice);
  if (!before) await writer.look();
}

const problem = h('div', {role: 'alert'});
show(content, problem);
attempt(problem, () => draw('', null));
