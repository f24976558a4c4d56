// @ts-check
// A sitting: one child, one item after the other.

import { h, show, announce, byId, count, modeWords } from './dom.js';
import { get, send, isThere, part, Refusal, words } from './api.js';
import { outbox, remembered } from './frame.js';
import { answerForm } from './answer_form.js';
import { childCard, safetyNotes } from './child.js';
import { criteriaNote } from './criteria.js';
import { trialsOf } from './pad_trials.js';
import { reason, written } from './feedback.js';
import { poses } from './poses.js';

/** @typedef {import('./types').Sitting} Sitting */
/** @typedef {import('./types').Answer} Answer */
/** @typedef {import('./types').Step} Step */
/** @typedef {import('./types').Case} Case */
/** @typedef {import('./score.js').ScorePad} ScorePad @typedef {import('./trials.js').ScoredTrials} ScoredTrials */

const id = decodeURIComponent(location.pathname.split('/')[2] ?? '');
const content = byId('content');

class Desk {
  /** @param {Sitting} sitting @param {import('./types').Instrument} instrument @param {import('./outbox.js').Outbox | null} box */
  constructor(sitting, instrument, box) {
    this.sitting = sitting;
    this.instrument = instrument;
    this.box = box;
    this.practice = sitting.mode === 'practice';
    this.index = 0;
    /** @type {Map<string, Promise<Case>>} */
    this.cases = new Map();
    /** @type {Map<string, Answer>} by "case/item" */
    this.answers = new Map();
    for (const answer of sitting.answers) this.answers.set(`${answer.case}/${answer.item}`, answer);
    /** @type {{trials: ScoredTrials, pad: ScorePad | null} | null} */
    this.open = null;
    /** Counts what was asked to be shown: only the latest is. */
    this.turn = 0;
  }

  /** Answers on the device are newer than what the site (or the service worker's copy) says. */
  async takeUp() {
    if (!this.box) return;
    for (const one of [...await this.box.kept(id), ...this.box.waiting.filter(w => w.sitting === id)]) {
      const step = this.sitting.steps.find(s => s.case === one.case && s.item === one.item);
      if (!step || step.revision >= one.revision) continue;
      step.revision = one.revision;
      if (this.practice) step.locked = true;
      this.answers.set(`${one.case}/${one.item}`, one.body);
    }
  }

  /**
   * An answer that the site will not take: the outbox has put it back as a draft, if it can be mended.
   * @param {import('./types').Waiting} waiting @param {Refusal} refusal
   */
  async takeBack(waiting, refusal) {
    const {body} = waiting;
    const step = this.sitting.steps.find(one => one.case === waiting.case && one.item === waiting.item);
    if (waiting.sitting !== id || !step) return;
    step.revision = waiting.revision - 1;
    if (refusal.status === 422) {
      step.locked = false;
      this.answers.delete(this.key(step));
      await this.takeUp(); // a later thought that waits, perhaps
      if (step === this.sitting.steps[this.index]) await this.show(false);
      else this.say(`Item ${step.item} was not taken: ${refusal.message}`, this.address(this.sitting.steps.indexOf(step)));
      return;
    }
    this.say(`Your answer to item ${step.item} (${body.value ?? body.status}) was not taken: ${refusal.message}`, null);
    const now = await get(`/api/sittings/${part(id)}`).catch(() => null);
    if (!now) return;
    this.sitting = now;
    this.answers = new Map(now.answers.map((/** @type {Answer} */ one) => [`${one.case}/${one.item}`, one]));
    await this.takeUp();
    await this.show(false);
  }

  /** @param {string} text @param {string | null} address */
  say(text, address) {
    byId('main').prepend(h('p', {class: 'notice', role: 'alert'}, text, address ? [' ', h('a', {href: address}, 'To the item')] : null));
  }

  /** @param {Step} step */
  key(step) { return `${step.case}/${step.item}`; }
  /** @param {Step} step */
  answered(step) { return this.answers.has(this.key(step)); }

  /** The first open step after a place, then from the beginning. @param {number} place */
  nextOpen(place) {
    const {steps} = this.sitting;
    for (let i = 1; i <= steps.length; ++i) {
      const at = (place + i) % steps.length;
      if (!this.answered(steps[at])) return at;
    }
    return null;
  }

  /** @param {string} caseId */
  case(caseId) {
    let known = this.cases.get(caseId);
    if (!known) {
      known = get(`/api/sittings/${part(id)}/cases/${part(caseId)}`);
      known.catch(() => this.cases.delete(caseId));
      this.cases.set(caseId, known);
    }
    return known;
  }

  /** Has the service worker keep every case of the set, one after the other. */
  async keepCases() {
    if (!navigator.serviceWorker?.controller) return;
    for (const caseId of new Set(this.sitting.steps.map(step => step.case))) await this.case(caseId).catch(() => null);
  }

  /** Which step the address names; the next open one when it names none. */
  fromAddress() {
    const named = decodeURIComponent(location.hash.slice(1));
    const at = this.sitting.steps.findIndex(step => this.key(step) === named);
    if (at >= 0 && this.mayOpen(this.sitting.steps[at])) return at;
    return this.nextOpen(this.sitting.steps.length - 1) ?? 0;
  }

  /** @param {number} at */
  address(at) { return `#${encodeURI(this.key(this.sitting.steps[at]))}`; }

  /** @param {boolean} focus */
  async show(focus) {
    const turn = ++this.turn;
    this.index = this.fromAddress();
    this.open?.trials.destroy();
    this.open = null;
    const step = this.sitting.steps[this.index];
    const item = this.instrument.items.find(one => one.id === step.item);
    if (!item) throw new Error('The set names an item that the instrument lacks.');
    let known;
    try {
      known = await this.case(step.case);
    } catch (error) {
      if (turn !== this.turn) return;
      show(content, h('h1', {tabindex: '-1'}, 'This child is not on the device'),
        h('p', {}, words(error)),
        h('p', {}, h('button', {type: 'button', onclick: () => this.show(true)}, 'Try again')));
      return;
    }
    const figure = await poses();
    if (turn !== this.turn) return;
    const caseItem = known.items.find(one => one.id === step.item) ?? {id: step.item, not_given: null, trials: []};
    const where = `Case ${step.case_number} of ${step.cases} - item ${step.item_number} of ${step.items}`;
    document.title = `${item.name}, item ${step.item_number} of ${step.items}, case ${step.case_number} of ${step.cases} - evenhand`;
    const title = h('h1', {tabindex: '-1'}, h('span', {class: 'eyebrow'}, `Item ${item.id}`), ' ', item.name);
    const left = h('div', {class: 'trials'}), right = h('div', {class: 'answer'});
    show(content, this.head(step, where), title, h('p', {class: 'task'}, item.task),
      step.item_number === 1 ? safetyNotes(this.instrument) : null,
      step === this.sitting.steps[0] && !this.practice ? criteriaNote(this.instrument.items, new Set(this.sitting.steps.map(one => one.item))) : null,
      h('div', {class: 'desk'}, left, right), this.children(step));
    left.append(childCard(known));
    left.append(h('h2', {class: 'unseen', id: 'trials', tabindex: '-1'}, 'Trials'));
    const trials = trialsOf(left, known, caseItem, {poses: figure, announce, item: item.id, describedNote: this.describedNote(), captions: this.practice, watches: item.observe.filter(name => this.instrument.observations[name]?.kind === 'duration').length});
    if (!caseItem.trials.length)
      left.append(h('p', {class: 'notice'}, caseItem.not_given ? `Not given: ${caseItem.not_given}` : 'This item was not given.'));
    const open = this.open = {trials, pad: /** @type {ScorePad | null} */ (null)};
    if (focus) {
      title.focus({preventScroll: true});
      window.scrollTo({top: 0});
    }
    const answer = this.answers.get(this.key(step));
    if (answer && (step.locked || this.sitting.finished)) await this.showReason(step, item, trials, answer, right, false);
    else await this.showForm(step, item, trials, open, answer ?? null, right);
  }

  /** What follows from taking a trial in its described form. */
  describedNote() {
    const apart = 'The description gives what you would measure, so this trial is not in your stopwatch figures.';
    if (this.practice) return apart;
    return `${apart} ${this.sitting.described_accepted ? 'As arranged, your answer is accepted as it comes.'
      : 'Your instructor is asked whether your answer is accepted.'} It stays noted when you go back to the picture.`;
  }

  /** @param {Step} step @param {string} where */
  head(step, where) {
    const {steps} = this.sitting;
    const done = steps.filter(one => this.answered(one)).length;
    const inCase = steps.filter(one => one.case === step.case);
    return h('div', {class: 'where'},
      h('p', {class: 'set'}, this.sitting.set.title, h('span', {class: 'tag'}, modeWords(this.sitting.mode)),
        this.sitting.demonstration ? h('span', {class: 'tag'}, 'demonstration') : null),
      h('p', {class: 'place'}, h('strong', {}, where)),
      h('p', {class: 'meter'}, h('progress', {max: String(steps.length), value: done, 'aria-labelledby': 'meter'}),
        h('span', {id: 'meter'}, `${done} of ${steps.length} scored`)),
      h('nav', {'aria-label': 'Items of this child'}, h('ol', {class: 'items'}, inCase.map(one => {
        const item = this.instrument.items.find(i => i.id === one.item);
        const scored = this.answered(one);
        return h('li', {}, h('a', {href: this.address(steps.indexOf(one)), class: scored ? 'done' : 'todo',
          'aria-current': one === step ? 'step' : null, title: item?.name},
        h('span', {class: 'unseen'}, 'Item '), one.item, h('span', {class: 'unseen'}, ` ${item?.name ?? ''}, ${scored ? 'scored' : 'open'}`),
        scored ? h('span', {class: 'mark', 'aria-hidden': 'true'}, '\u2713') : null));
      }))),
      !this.practice && !this.sitting.finished ? this.handInLink(done) : null);
  }

  /** The set's other children. They come one after the other. @param {Step} step */
  children(step) {
    const {steps} = this.sitting;
    const cases = [...new Set(steps.map(one => one.case))];
    if (cases.length < 2) return null;
    return h('details', {class: 'fold cases'}, h('summary', {}, 'The children of this set'), h('ol', {}, cases.map((caseId, i) => {
      const own = steps.filter(one => one.case === caseId);
      const open = own.filter(one => !this.answered(one));
      const words = `Case ${i + 1}`;
      const state = open.length ? `${own.length - open.length} of ${own.length} scored` : 'all scored';
      return h('li', {}, this.mayOpen(own[0]) ? h('a', {href: this.address(steps.indexOf(open[0] ?? own[0])),
        'aria-current': caseId === step.case ? 'true' : null}, words) : words, `: ${this.mayOpen(own[0]) ? state : 'comes later'}`);
    })));
  }

  /** Items of one child in any order, children one after the other. @param {Step} step */
  mayOpen(step) {
    const next = this.sitting.steps.find(one => !this.answered(one));
    return !next || step.case_number <= next.case_number;
  }

  /** @param {number} done */
  handInLink(done) {
    return h('p', {}, h('button', {type: 'button', class: 'quiet', onclick: () => this.handIn()},
      done === this.sitting.steps.length ? 'Hand in' : 'Review and hand in'));
  }

  /**
   * @param {Step} step @param {import('./types').InstrumentItem} item @param {ScoredTrials} trials
   * @param {{trials: ScoredTrials, pad: ScorePad | null}} open
   * @param {Answer | null} answer @param {Element} host
   */
  async showForm(step, item, trials, open, answer, host) {
    const draft = await this.box?.draft(id, step.case, step.item).catch(() => null) ?? null;
    open.pad = answerForm(host, {
      instrument: this.instrument, item, trials, draft, answer,
      button: this.practice ? 'Save and see why' : answer ? 'Save the change' : 'Save',
      keep: kept => this.box?.keepDraft(id, step.case, step.item, kept).catch(() => {}),
      save: body => this.save(step, item, trials, body, host),
    });
  }

  /**
   * @param {Step} step @param {import('./types').InstrumentItem} item @param {ScoredTrials} trials @param {Answer} body @param {Element} host
   */
  async save(step, item, trials, body, host) {
    const waiting = {sitting: id, case: step.case, item: step.item, revision: step.revision + 1, body};
    // A device without a database: straight to the site. What fails here is said in the form, and nothing is saved.
    if (this.box) await this.box.put(waiting);
    else await send('PUT', `/api/sittings/${part(id)}/answers/${part(step.case)}/${part(step.item)}/${waiting.revision}`, body);
    step.revision = waiting.revision;
    if (this.practice) step.locked = true;
    this.answers.set(this.key(step), body);
    if (this.practice) await this.showReason(step, item, trials, body, host, true);
    else {
      announce('Saved.');
      this.goOn();
    }
  }

  /** To the next open item, or to the end. */
  goOn() {
    const next = this.nextOpen(this.index);
    if (next === null) this.handIn();
    else location.hash = this.address(next);
  }

  /** The reason of an item that was saved; waits for the answer to be sent. @param {Step} step @param {Answer} answer */
  async reasonOf(step, answer) {
    const box = this.box;
    const waits = () => box?.latest(id, step.case, step.item);
    if (box && waits()) {
      const feedback = await new Promise(resolve => {
        const kept = (/** @type {any} */ event) => {
          const one = event.detail.waiting;
          if (one.sitting !== id || one.case !== step.case || one.item !== step.item) return;
          box.removeEventListener('kept', kept);
          box.removeEventListener('refused', kept);
          resolve(event.detail.feedback ?? event.detail.refusal ?? null);
        };
        box.addEventListener('kept', kept);
        box.addEventListener('refused', kept);
      });
      if (feedback instanceof Refusal) throw feedback;
      if (feedback) return feedback;
    }
    return get(`/api/sittings/${part(id)}/feedback/${part(step.case)}/${part(step.item)}`);
  }

  /**
   * @param {Step} step @param {import('./types').InstrumentItem} item @param {ScoredTrials} trials @param {Answer} answer
   * @param {Element} host @param {boolean} focus
   */
  async showReason(step, item, trials, answer, host, focus) {
    trials.close();
    const next = this.nextOpen(this.index);
    const onward = h('p', {class: 'actions'}, next === null
      ? h('button', {type: 'button', class: 'save', onclick: () => this.finish()}, this.sitting.finished ? 'To the summary' : 'Finish, to the summary')
      : h('a', {class: 'button save', href: this.address(next)}, 'Next item'));
    const wait = h('div', {class: 'notice'}, h('p', {}, h('strong', {}, 'Saved on this device. '),
      'The reason comes as soon as the site has the answer. You can go on meanwhile.'));
    const readings = answer.stopwatch ?? [];
    if (!this.practice && !this.sitting.finished) {
      show(host, written(this.instrument, item, answer.observations, readings), onward);
      return;
    }
    // Shown only when the answer is slow in coming.
    const timer = setTimeout(() => { if (this.sitting.steps[this.index] === step) show(host, wait, onward); }, 400);
    try {
      const feedback = await this.reasonOf(step, answer);
      clearTimeout(timer);
      if (this.sitting.steps[this.index] !== step || !host.isConnected) return;
      show(host, reason(feedback, {instrument: this.instrument, item, trials, readings, observations: answer.observations, outside: 'running' in trials}), onward);
      if (feedback.deciding_trial !== null) trials.mark(feedback.deciding_trial);
      this.refreshHead(step);
      if (focus) {
        const title = /** @type {HTMLElement | null} */ (host.querySelector('#reason-title'));
        title?.focus({preventScroll: true});
        title?.scrollIntoView({block: 'start', behavior: 'auto'});
      }
    } catch (error) {
      clearTimeout(timer);
      if (this.sitting.steps[this.index] !== step) return;
      if (error instanceof Refusal && error.status === 422) return; // back in the form
      const says = words(error);
      show(host, h('div', {class: 'notice'}, h('p', {}, says)), onward);
    }
  }

  /** @param {Step} step */
  refreshHead(step) {
    const where = content.querySelector('.where');
    where?.replaceWith(this.head(step, `Case ${step.case_number} of ${step.cases} - item ${step.item_number} of ${step.items}`));
  }

  /** The one confirmation: what is open, then no way back. */
  handIn() {
    this.open?.trials.destroy();
    this.open = null;
    const {steps} = this.sitting;
    const missing = steps.map((step, at) => ({step, at})).filter(({step}) => !this.answered(step));
    const now = missing.filter(({step}) => this.mayOpen(step)), later = missing.length - now.length;
    const title = h('h1', {tabindex: '-1'}, 'Hand in');
    document.title = 'Hand in - evenhand';
    show(content, title,
      h('p', {class: 'lead'}, missing.length
        ? `${count(missing.length, 'item is', 'items are')} still open. Score them, or say why there is no level to give; then hand in.`
        : 'Every item is scored. You may still go back and change any of them.'),
      now.length ? h('ul', {class: 'open-items'}, now.map(({step, at}) => h('li', {}, h('a', {href: this.address(at),
        onclick: () => setTimeout(() => this.show(true))}, `Case ${step.case_number}, item ${step.item}: ${
        this.instrument.items.find(i => i.id === step.item)?.name ?? ''}`)))) : null,
      later ? h('p', {class: 'later'}, `And ${count(later, 'item')} of children that come later.`) : null,
      h('p', {}, 'After handing in nothing can be changed.', this.sitting.mode === 'skills-check' ? ' The reasons are shown then.' : ' The reasons are shown when the round closes.'),
      h('p', {class: 'actions'}, missing.length ? null : h('button', {type: 'button', onclick: () => this.finish()}, 'Hand in'),
        h('a', {class: 'button quiet', href: this.address(this.index), onclick: () => setTimeout(() => this.show(true))}, 'Back to the items')));
    title.focus();
  }

  async finish() {
    const box = this.box;
    const waiting = box?.waiting.filter(one => one.sitting === id).length ?? 0;
    if (box && waiting) {
      const note = h('p', {class: 'notice', role: 'alert'}, `${count(waiting, 'answer waits', 'answers wait')} to be sent. The sitting is closed when they have arrived; try again when you are online.`);
      content.querySelectorAll('.notice[role=alert]').forEach((/** @type {Element} */ old) => old.remove());
      content.append(note);
      box.flush(true);
      return;
    }
    try {
      if (!this.sitting.finished) await send('POST', `/api/sittings/${part(id)}/finish`);
      location.assign(`/sitting/${part(id)}/summary`);
    } catch (error) {
      content.append(h('p', {class: 'notice', role: 'alert'}, words(error)));
    }
  }
}

/**
 * What this device was told is kept, and the site has no longer: an older backup took the place of its store. It goes
 * into the outbox once more, and the sitting is as the site has it.
 * @param {Sitting} sitting @param {import('./outbox.js').Outbox} box
 */
async function sendAgain(sitting, box) {
  const kept = (await box.kept(id)).sort((a, b) => (a.place ?? 0) - (b.place ?? 0));
  /** @param {import('./types').Waiting} one @param {Sitting} of */
  const step = (one, of) => of.steps.find(s => s.case === one.case && s.item === one.item && s.revision < one.revision);
  const path = `/api/sittings/${part(id)}`;
  // Without the site it is the service worker's copy that is behind, and nothing is amiss.
  if (sitting.finished || !kept.some(one => step(one, sitting)) || !await isThere(path)) return sitting;
  const now = /** @type {Sitting} */ (await get(path).catch(() => sitting));
  for (const one of kept) {
    const known = step(one, now);
    if (known && !box.latest(id, one.case, one.item)) await box.put({...one, revision: known.revision + 1});
  }
  return now;
}

async function start() {
  /** @type {Sitting} */
  let sitting;
  let instrument;
  const box = await outbox;
  try {
    sitting = await get(`/api/sittings/${part(id)}`);
    instrument = await get(`/api/instruments/${part(sitting.instrument)}`);
  } catch (error) {
    const refusal = error instanceof Refusal ? error : null;
    if (refusal?.status === 401) location.assign('/sign-in?next=' + encodeURIComponent(location.pathname + location.hash));
    show(content, h('h1', {tabindex: '-1'}, refusal?.status === 404 ? 'No such sitting' : 'The sitting is not on this device'),
      h('p', {}, refusal?.message ?? String(error)), h('p', {}, h('a', {href: '/'}, 'To your sets')));
    return;
  }
  if (box) sitting = await sendAgain(sitting, box);
  const desk = new Desk(sitting, instrument, box);
  await desk.takeUp();
  box?.addEventListener('refused', (/** @type {any} */ event) => desk.takeBack(event.detail.waiting, event.detail.refusal));
  addEventListener('hashchange', () => desk.show(true));
  document.addEventListener('keydown', event => {
    if (event.key === ' ' || remembered('keys') === 'off') return;
    desk.open?.pad?.key(event);
  });
  await desk.show(false);
  if (navigator.serviceWorker) navigator.serviceWorker.ready.then(() => desk.keepCases());
}

start();
