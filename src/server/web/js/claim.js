// @ts-check
// The link of an instructor: who it is for, and its code, stand behind the # of the address.

import { sends } from './forms.js';
import { byId } from './dom.js';

const [rater, code] = location.hash.slice(1).split('/').map(decodeURIComponent);
if (rater && code) {
  /** @type {HTMLInputElement} */ (byId('rater')).value = rater;
  /** @type {HTMLInputElement} */ (byId('code')).value = code;
  // A code that was used up must not stay in the history of the browser.
  history.replaceState(null, '', location.pathname);
}

sends('/api/claim', {code: 'Type the code of your link.', rater: 'Type your rater id.', passphrase: 'Choose a passphrase.'},
  () => location.assign('/'));
