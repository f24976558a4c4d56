// @ts-check
// How the figure moves, as data: fetched once a page.

import { get } from './api.js';

/** @type {Promise<any> | null} */
let known = null;

/** What a Player needs to draw; null when the site has none for now, and trials are played in words alone. */
export function poses() {
  known ??= get('/api/poses').catch(() => {
    known = null;
    return null;
  });
  return known;
}
