// @ts-check
// What the instructor's pages share: their addresses, and the mark of a decision.

import { part } from './api.js';

/** The parts of this page's address: /groups/{id}/raters/{rater}. */
export const address = location.pathname.split('/').filter(Boolean).map(decodeURIComponent);

/** @param {string} group */
export const groupPath = group => `/groups/${part(group)}`;
/** @param {string} group @param {string} rater */
export const raterPath = (group, rater) => `/groups/${part(group)}/raters/${part(rater)}`;
/** @param {string} group @param {string} one @param {string} item */
export const casePath = (group, one, item) => `/groups/${part(group)}/cases/${part(one)}/${part(item)}`;

/** @param {string} status */
export const mark = status => ({ready: '\u25CF', 'not-yet': '\u25CB', 'more-cases': '\u25D0', 'not-shown': '\u25CC', waits: '\u25CE', none: '\u2013'}[status] ?? '');
