// @ts-check
import { sends, onward } from './forms.js';

sends('/api/sign-in', {rater: 'Type your rater id.', passphrase: 'Type your passphrase.'}, () => location.assign(onward()));
