// @ts-check
// Elements from values. Text is always text: no page of this site parses strings as HTML.

const svgSpace = 'http://www.w3.org/2000/svg';

/**
 * @typedef {Node | string | number | null | undefined | false | Array<any>} Child
 * @param {Element} element
 * @param {Record<string, any>} given
 * @param {Child[]} children
 */
function fill(element, given, children) {
  for (const [name, value] of Object.entries(given)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (name === 'value' || name === 'checked' || name === 'disabled' || name === 'hidden' || name === 'open')
      /** @type {any} */ (element)[name] = value;
    else element.setAttribute(name, value === true ? '' : String(value));
  }
  add(element, children);
}

/**
 * @param {Element} element
 * @param {Child[]} children
 */
function add(element, children) {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    if (Array.isArray(child)) add(element, child);
    else element.append(child instanceof Node ? child : String(child));
  }
}

/**
 * An element: `h('p', {class: 'hint', onclick: f}, 'text', otherElement)`.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any>} [given]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function h(tag, given = {}, ...children) {
  const element = document.createElement(tag);
  fill(element, given, children);
  return element;
}

/**
 * The same for drawings.
 * @param {string} tag
 * @param {Record<string, any>} [given]
 * @param {...Child} children
 * @returns {SVGElement}
 */
export function s(tag, given = {}, ...children) {
  const element = /** @type {SVGElement} */ (document.createElementNS(svgSpace, tag));
  fill(element, given, children);
  return element;
}

/**
 * The element of that id, which the page has.
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page has no #${id}`);
  return element;
}

/**
 * Puts the children in place of what a host holds.
 * @param {Element} host
 * @param {...Child} children
 */
export function show(host, ...children) {
  host.replaceChildren();
  add(host, children);
  host.removeAttribute('aria-busy');
}

/**
 * A table that scrolls sideways in its own box when the page is too narrow for it.
 * @param {string} caption
 * @param {string[]} heads
 * @param {Child[][]} rows  the first cell of a row is its head
 * @param {string[]} [kinds]  'number' for columns of numbers
 */
export function table(caption, heads, rows, kinds = []) {
  const cls = (/** @type {number} */ i) => kinds[i] === 'number' ? 'number' : null;
  return h('div', {class: 'scroll', tabindex: '0', role: 'region', 'aria-label': caption},
    h('table', {},
      h('caption', {}, caption),
      h('thead', {}, h('tr', {}, heads.map((head, i) => h('th', {scope: 'col', class: cls(i)}, head)))),
      h('tbody', {}, rows.map(row => h('tr', {}, row.map((cell, i) =>
        i === 0 ? h('th', {scope: 'row'}, cell) : h('td', {class: cls(i)}, cell)))))));
}

/** Nothing to show: a cell that holds no word is taken for one that was forgotten. @param {Child} cell @returns {Child} */
const orDash = cell => cell === '' || cell === null || cell === undefined || cell === false ? '\u2013' : cell;

/**
 * A table of things that are read one by one: on a narrow page each row stands as a block, its cells under
 * their heads. The roles are said, because a table whose parts are blocks is none to a screen reader.
 * @param {string} caption
 * @param {string[]} heads
 * @param {Child[][]} rows  the first cell of a row is its head
 * @param {string[]} [kinds]  'number' for columns of numbers
 */
export function records(caption, heads, rows, kinds = []) {
  const cls = (/** @type {number} */ i) => kinds[i] === 'number' ? 'number' : null;
  return h('div', {class: 'records-box'}, h('table', {class: 'records', role: 'table'},
    h('caption', {}, caption),
    h('thead', {role: 'rowgroup'}, h('tr', {role: 'row'}, heads.map((head, i) => h('th', {scope: 'col', role: 'columnheader', class: cls(i)}, head)))),
    h('tbody', {role: 'rowgroup'}, rows.map(row => h('tr', {role: 'row'}, row.map((cell, i) =>
      i === 0 ? h('th', {scope: 'row', role: 'rowheader'}, cell)
        // As a block the cell is a grid of its head and one thing beside it.
        : h('td', {role: 'cell', class: cls(i), 'data-head': heads[i]}, h('div', {}, orDash(cell)))))))));
}

/**
 * How wide a drawing is, in units of which 16 are one size of the page's text: drawn for the width there is, its
 * words stay as large as the page's, and grow with them.
 * @param {number} least @param {number} most
 */
export function drawingWidth(least, most) {
  const unit = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
  return Math.min(most, Math.max(least, (document.documentElement.clientWidth - 36) / unit));
}

let saying = false;
/**
 * Says something to whoever does not see the page. What comes in one go is said in one go: of a live region that is
 * filled twice before it is read only the last is heard.
 * @param {string} text
 */
export function announce(text) {
  const place = byId('announce');
  place.textContent = saying ? `${place.textContent} ${text}` : text;
  saying = true;
  setTimeout(() => { saying = false; });
}

/** Moves the focus to what is no control, so that reading goes on from there. @param {HTMLElement | null} element */
export function focusOn(element) {
  if (!element) return;
  element.tabIndex = -1;
  element.focus();
}

/** @param {string | null | undefined} when  RFC 3339 */
export function date(when) {
  if (!when) return '';
  return new Date(when).toLocaleDateString('en-US', {year: 'numeric', month: 'short', day: 'numeric'});
}

/** @param {string | null | undefined} when */
export function dateTime(when) {
  if (!when) return '';
  return new Date(when).toLocaleString('en-US', {month: 'short', day: 'numeric', hour: 'numeric', minute: '2-digit'});
}

/**
 * With a true minus: a limit may lie below 0.
 * @param {number | null | undefined} share  0 to 1
 */
export function percent(share) {
  if (share === null || share === undefined) return '\u2013';
  const points = Math.round(share * 100);
  return `${points < 0 ? '\u2212' : ''}${Math.abs(points)}%`;
}

const rounding = 1e-9;
/**
 * The limits of a share as "68% to 92%". Limits that leave 0 to 100% came of too few cases to be any, and such
 * as fall together tell of no spread.
 * @param {number | null | undefined} lower @param {number | null | undefined} upper
 */
export function shareLimits(lower, upper) {
  if (lower === null || lower === undefined || upper === null || upper === undefined) return '';
  if (fallTogether(lower, upper)) return 'no spread';
  return lower < -rounding || upper > 1 + rounding ? 'no limits: too few cases' : `${percent(lower)} to ${percent(upper)}`;
}

/** A sentence of a report as the pages write: percent without a space. @param {unknown} text */
export const told = text => String(text ?? '').replace(/(\d)[ \u00a0]%/g, '$1%');

/** Limits that fall together tell of no spread, not of certainty. @param {number} lower @param {number} upper */
export const fallTogether = (lower, upper) => Math.abs(upper - lower) < rounding;

/**
 * With its sign, and a true minus.
 * @param {number} value
 * @param {number} digits
 */
export function signed(value, digits) {
  const text = Math.abs(value).toFixed(digits);
  return Number(text) === 0 ? text : (value < 0 ? '\u2212' : '+') + text;
}

/** @param {string} mode */
export function modeWords(mode) {
  return mode === 'practice' ? 'practice' : mode === 'skills-check' ? 'skills check' : 'calibration';
}

/**
 * "1 item", "2 items".
 * @param {number} n
 * @param {string} one
 * @param {string} [many]
 */
export function count(n, one, many = one + 's') {
  return `${n} ${n === 1 ? one : many}`;
}
