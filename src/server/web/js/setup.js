// @ts-check
import { byId } from './dom.js';
import { sends } from './forms.js';

// The token stands behind the #, so no server and no log ever sees it in an address.
const token = decodeURIComponent(location.hash.slice(1));
if (token) {
  byId('token').value = token;
  byId('token-field').hidden = true;
  history.replaceState(null, '', location.pathname);
}
sends('/api/setup', {token: 'The set-up code is missing: open the link that the site printed.', rater: 'Choose a rater id.',
  passphrase: 'Choose a passphrase.'}, () => location.assign('/groups'));
