// @ts-check
import { sends } from './forms.js';

sends('/api/reset', {code: 'Type the code from your instructor.', rater: 'Type your rater id.', passphrase: 'Choose a passphrase.'},
  () => location.assign('/'));
