// @ts-check
// The forms of whoever is signed in: numbers read one way, a fault said at its field, deeds that ask first.

import { h, show, focusOn } from './dom.js';
import { Refusal, words } from './api.js';

/** @typedef {HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement} Control  with an id */

/** The ids of what describes a control, without the place of its fault. @param {Control} control */
const described = control => (control.getAttribute('aria-describedby') ?? '').split(' ').filter(one => one && one !== `${control.id}-problem`);

/** A control with its label, and a hint that it is described by. @param {Control} control @param {string} label @param {string} [hint] */
export function field(control, label, hint = '') {
  if (hint) control.setAttribute('aria-describedby', `${control.id}-hint`);
  return h('p', {class: 'field'}, h('label', {for: control.id}, label), hint ? h('span', {class: 'hint', id: `${control.id}-hint`}, hint) : null, control);
}

/** @param {Control} control */
export function clearFault(control) {
  document.getElementById(`${control.id}-problem`)?.remove();
  control.removeAttribute('aria-invalid');
  const others = described(control);
  if (others.length) control.setAttribute('aria-describedby', others.join(' '));
  else control.removeAttribute('aria-describedby');
}

/** Says at a field what is wrong with it, until something is typed there; the focus goes to it, unless it is told while typing. @param {Control} control @param {string} says @param {boolean} [focus] */
export function faultAt(control, says, focus = true) {
  clearFault(control);
  const id = `${control.id}-problem`;
  control.setAttribute('aria-invalid', 'true');
  control.setAttribute('aria-describedby', [...described(control), id].join(' '));
  control.after(h('span', {class: 'problem', id}, says));
  control.addEventListener('input', () => clearFault(control), {once: true});
  if (!focus) return;
  // A field that is folded away takes no focus.
  const fold = control.closest('details');
  if (fold) fold.open = true;
  control.focus();
}

/**
 * The number in a field; null where it is empty and may be. Undefined where it is no such number, which is said there:
 * letters must never become "nothing", which means something else.
 * @param {HTMLInputElement} control
 * @param {{name: string, from: number, to: number, empty?: boolean, whole?: boolean}} of
 * @returns {number | null | undefined}
 */
export function numberIn(control, {name, from, to, empty = false, whole = true}) {
  const text = control.value.trim();
  if (!text && empty) return null;
  const value = (whole ? /^\d+$/ : /^\d+([.,]\d+)?$/).test(text) ? Number(text.replace(',', '.')) : NaN;
  if (value >= from && value <= to) return value;
  faultAt(control, `${name}: a ${whole ? 'whole ' : ''}number from ${from.toLocaleString('en-US')} to ${to.toLocaleString('en-US')}${empty ? ', or nothing' : ''}.`);
  return undefined;
}

/**
 * After the session ran out: what was typed stays, so one signs in beside it.
 * @param {unknown} error
 */
const signedOut = error => error instanceof Refusal && error.status === 401
  ? [' You were signed out; nothing that you entered here is lost. ', h('a', {href: '/sign-in', target: '_blank', rel: 'noopener'}, 'Sign in in a new tab'), ', come back, and try again.'] : null;

/** Forms whose deed is under way. @type {WeakSet<Element>} */
const underWay = new WeakSet();

/**
 * Does it. What goes wrong is said at the field that the site names, or in the place given, which reads it out.
 * @param {Element} problem
 * @param {() => Promise<any>} work
 * @param {Element | null} [form]  whose fields have the ids by which the site names them
 * @returns {Promise<boolean>} whether it was done
 */
export async function attempt(problem, work, form = null) {
  // A second click while the first is under way is none: it would do the deed twice.
  if (form && underWay.has(form)) return false;
  if (form) underWay.add(form);
  show(problem);
  try {
    await work();
    return true;
  } catch (error) {
    const named = error instanceof Refusal && error.field ? form?.querySelector(`#${CSS.escape(error.field)}`) : null;
    if (named) faultAt(/** @type {Control} */ (named), words(error));
    else {
      show(problem, h('p', {class: 'notice'}, words(error), signedOut(error)));
      problem.scrollIntoView({block: 'nearest'});
    }
    return false;
  } finally {
    if (form) underWay.delete(form);
  }
}

/**
 * Asks in a place before it does something; the focus goes to the question, and back when it is left.
 * @param {Element} place
 * @param {{question: any, yes: any, deed: () => Promise<any>, back: () => void}} of
 */
export function ask(place, {question, yes, deed, back}) {
  const problem = h('div', {role: 'alert'}), says = h('p', {}, question);
  const sure = h('button', {type: 'button', onclick: async () => {
    sure.disabled = true;
    if (!await attempt(problem, deed)) sure.disabled = false;
  }}, yes);
  show(place, h('div', {class: 'asking', role: 'group', 'aria-label': 'To confirm'}, says, problem, h('p', {class: 'answers'}, sure,
    h('button', {type: 'button', class: 'quiet', onclick: back}, 'Leave it'))));
  focusOn(says);
}

/**
 * A button that asks first, in its own place.
 * @param {string} label
 * @param {string} unseen  of what; for whoever hears the button alone
 * @param {string} question
 * @param {() => Promise<any>} deed
 * @param {string} [yes]  what the button that does it says
 */
export function asks(label, unseen, question, deed, yes = label) {
  const of = () => h('span', {class: 'unseen'}, ` ${unseen}`);
  const host = h('div', {class: 'asks'});
  const button = h('button', {type: 'button', class: 'quiet', onclick: () => ask(host, {question, yes: [yes, of()], deed, back: () => {
    show(host, button);
    button.focus();
  }})}, `${label} ...`, of());
  host.append(button);
  return host;
}
