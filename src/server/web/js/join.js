// @ts-check
import { sends, onward } from './forms.js';

sends('/api/join', {code: 'Type the code of your group.', rater: 'Choose a rater id.', passphrase: 'Choose a passphrase.'},
  () => location.assign(onward()));
