// @ts-check
// Nothing is lost: an answer is written to the device, then sent, then taken off the device when the site has
// said that it keeps it. Each rater has a database of their own, so one rater's answers are never sent as
// another's. Drafts of items that are not saved yet lie beside them.

import { get, send, part, Refusal } from './api.js';

/** @typedef {import('./types').Waiting} Waiting */
/** @typedef {import('./types').Draft} Draft */
/** @typedef {import('./types').Feedback} Feedback */

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
function done(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {Waiting} one */
const keyOf = one => [one.sitting, one.case, one.item, one.revision];

/** An answer as it stood in the form. @param {import('./types').Answer} body @param {string} fault @returns {Draft} */
const draftOf = (body, fault) => ({readings: body.stopwatch, described: [], describedTrials: body.described ?? [], trial: body.trial, numbers: {}, facts: {},
  byHand: [], observations: body.observations, score: body.value ?? `status:${body.status}`,
  sureness: body.sureness === null ? null : String(body.sureness), fault});

/** In the order in which they were given, whatever the device's clock was set to meanwhile. @param {Waiting} a @param {Waiting} b */
const inOrder = (a, b) => (a.place ?? 0) - (b.place ?? 0) || a.body.at.localeCompare(b.body.at) || a.revision - b.revision;

/** Whether the site takes no answer to that item any more: there is nothing to mend. @param {Refusal} refusal */
const isOver = refusal => ['finished', 'closed', 'locked', 'too-often', 'not-found'].includes(refusal.code);

/**
 * Events: 'change' when something waits, was kept or was refused; 'kept' ({detail: {waiting, feedback}});
 * 'refused' ({detail: {waiting, refusal}}); 'signed-out'.
 */
export class Outbox extends EventTarget {
  /** @param {string} rater */
  constructor(rater) {
    super();
    this.rater = rater;
    /** @type {IDBDatabase | null} */
    this.database = null;
    /** @type {Waiting[]} */
    this.waiting = [];
    this.state = /** @type {'kept' | 'sending' | 'offline' | 'signed-out'} */ ('kept');
    this.pause = 0;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
    this.sending = false;
  }

  async open() {
    const request = indexedDB.open(`evenhand-${this.rater}`, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('answers');
      request.result.createObjectStore('drafts');
      request.result.createObjectStore('kept');
    };
    this.database = await done(request);
    this.waiting = (await done(this.store('answers', 'readonly').getAll())).sort(inOrder);
    addEventListener('online', () => this.flush(true));
    addEventListener('offline', () => { if (this.waiting.length) this.become('offline'); });
    document.addEventListener('visibilitychange', () => { if (!document.hidden) this.flush(true); });
    if (this.waiting.length) this.flush(true);
    this.dispatchEvent(new Event('change'));
    return this;
  }

  /** @param {'answers' | 'drafts' | 'kept'} name @param {IDBTransactionMode} mode */
  store(name, mode) {
    if (!this.database) throw new Error('the outbox is not open');
    return this.database.transaction(name, mode).objectStore(name);
  }

  /** Keeps an answer on the device, in place of its draft, and sends it as soon as possible. @param {Waiting} one */
  async put(one) {
    if (!this.database) throw new Error('the outbox is not open');
    const both = this.database.transaction(['answers', 'drafts'], 'readwrite');
    const complete = new Promise((resolve, reject) => {
      both.oncomplete = () => resolve(null);
      both.onabort = () => reject(both.error);
    });
    const answers = both.objectStore('answers');
    one.place = 1 + Math.max(0, ...(await done(answers.getAll())).map(other => other.place ?? 0));
    answers.put(one, keyOf(one));
    both.objectStore('drafts').delete([one.sitting, one.case, one.item]);
    await complete;
    this.waiting.push(one);
    this.dispatchEvent(new Event('change'));
    this.flush(true);
  }

  /**
   * The newest answer that waits for an item.
   * @param {string} sitting @param {string} case_ @param {string} item
   */
  latest(sitting, case_, item) {
    return this.waiting.filter(w => w.sitting === sitting && w.case === case_ && w.item === item)
      .sort((a, b) => b.revision - a.revision)[0] ?? null;
  }

  /** What the site has said that it keeps of a sitting. @param {string} sitting @returns {Promise<Waiting[]>} */
  async kept(sitting) {
    return done(this.store('kept', 'readonly').getAll(IDBKeyRange.bound([sitting], [sitting, []])));
  }

  /** @param {boolean} [now]  whether to leave out what is left of the pause */
  flush(now = false) {
    if (now) this.pause = 0;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.sendAll(), this.pause);
  }

  async sendAll() {
    if (this.sending || !this.waiting.length) return;
    this.sending = true;
    // Two tabs of one rater do not race: the second waits until the first has sent.
    const work = () => this.sendEach();
    try {
      if (navigator.locks) await navigator.locks.request(`evenhand-outbox-${this.rater}`, work);
      else await work();
    } finally {
      this.sending = false;
    }
  }

  async sendEach() {
    // Another tab may have sent some of them, or added more. In the order in which they were given: the site
    // takes the children of a set one after the other.
    const before = this.waiting;
    this.waiting = (await done(this.store('answers', 'readonly').getAll())).sort(inOrder);
    const still = new Set(this.waiting.map(one => keyOf(one).join('/')));
    for (const one of before) if (!still.has(keyOf(one).join('/')))
      this.dispatchEvent(new CustomEvent('kept', {detail: {waiting: one, feedback: null}}));
    while (this.waiting.length) {
      const one = this.waiting[0];
      this.become('sending');
      try {
        const kept = await send('PUT', `/api/sittings/${part(one.sitting)}/answers/${part(one.case)}/` +
          `${part(one.item)}/${one.revision}`, one.body);
        // A page that is opened again without a network shows what the service worker kept, which may be older.
        await done(this.store('kept', 'readwrite').put(one, [one.sitting, one.case, one.item]));
        await this.remove(one);
        this.dispatchEvent(new CustomEvent('kept', {detail: {waiting: one, feedback: kept?.feedback ?? null}}));
      } catch (error) {
        const refusal = await this.lookCloser(error instanceof Refusal ? error : new Refusal(0, 'offline', String(error)));
        if (refusal.status === 401) {
          this.become('signed-out');
          return;
        }
        if (refusal.passing) {
          this.become('offline');
          // 1 s, 2 s, 4 s ... up to a minute, never all devices of a class at once.
          this.pause = Math.max(refusal.wait * 1000, Math.min(60000, Math.max(1000, this.pause * 2)));
          clearTimeout(this.timer);
          this.timer = setTimeout(() => this.sendAll(), this.pause * (0.75 + Math.random() / 2));
          return;
        }
        // The site will never take it as it is: said, not sent for ever.
        await this.giveUp(one, refusal);
        this.dispatchEvent(new CustomEvent('refused', {detail: {waiting: one, refusal}}));
      }
    }
    this.pause = 0;
    this.become('kept');
  }

  /**
   * That there is no such sitting may be only that somebody else signed in on this device, in another tab: that is as
   * good as signed out. When nobody can say who is signed in, that is what is wrong.
   * @param {Refusal} refusal
   */
  async lookCloser(refusal) {
    if (refusal.status !== 404) return refusal;
    try {
      return (await get('/api/me')).rater === this.rater ? refusal : new Refusal(401, 'sign-in', refusal.message);
    } catch (error) {
      return error instanceof Refusal ? error : refusal;
    }
  }

  /**
   * Takes an answer that was refused out of the queue. What can be mended goes back into the form, unless the rater
   * thought again meanwhile: then that moves up, since the site counts revisions without a gap.
   * @param {Waiting} one @param {Refusal} refusal
   */
  async giveUp(one, refusal) {
    const later = this.waiting.filter(w => w.sitting === one.sitting && w.case === one.case && w.item === one.item && w.revision > one.revision);
    if (!later.length && !isOver(refusal)) await this.keepDraft(one.sitting, one.case, one.item, draftOf(one.body, refusal.message));
    await this.remove(one);
    if (refusal.status !== 422 && refusal.code !== 'not-its-turn') return;
    for (const next of later) {
      const answers = this.store('answers', 'readwrite');
      answers.delete(keyOf(next));
      next.revision -= 1;
      await done(answers.put(next, keyOf(next)));
    }
  }

  /** @param {Waiting} one */
  async remove(one) {
    await done(this.store('answers', 'readwrite').delete(keyOf(one)));
    this.waiting = this.waiting.filter(w => keyOf(w).join('/') !== keyOf(one).join('/'));
    this.dispatchEvent(new Event('change'));
  }

  /** @param {'kept' | 'sending' | 'offline' | 'signed-out'} state */
  become(state) {
    if (this.state === state) return;
    this.state = state;
    this.dispatchEvent(new Event('change'));
    if (state === 'signed-out') this.dispatchEvent(new Event('signed-out'));
  }

  /** @param {string} sitting @param {string} case_ @param {string} item @returns {Promise<Draft | null>} */
  async draft(sitting, case_, item) {
    return (await done(this.store('drafts', 'readonly').get([sitting, case_, item]))) ?? null;
  }
  /** @param {string} sitting @param {string} case_ @param {string} item @param {Draft} draft */
  async keepDraft(sitting, case_, item, draft) {
    await done(this.store('drafts', 'readwrite').put(draft, [sitting, case_, item]));
  }

  /** Everything of this rater off the device. */
  async forget() {
    this.database?.close();
    await done(indexedDB.deleteDatabase(`evenhand-${this.rater}`));
  }
}
