// Two stretches in one trial: each reading goes to the side that was turned to, whichever came first. And where
// nothing is timed a trial that plays has no watch.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { begin, fill, join, open, save, toItem, until, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

const moment = more => ({ poses: [], contacts: [], helpers: [], events: [], says: null, text: '', ...more });
/** A child who turns to one side for a second, stops, and turns to the other for two. */
const turning = (first, second) => [
  moment({ at: 0, poses: ['standing'], helpers: ['near'] }),
  moment({ at: 1, poses: [`turning-${first}`], events: ['turn-starts'] }), moment({ at: 2, poses: ['standing'], events: ['turn-done'] }),
  moment({ at: 3, poses: [`turning-${second}`], events: ['turn-starts'] }), moment({ at: 5, poses: ['standing'], events: ['turn-done'] }),
];

for (const [first, second] of [['left', 'right'], ['right', 'left']]) {
  test(`of a child who turns to the ${first} first, the first reading is that of the turn to the ${first}`, async () => {
    const page = await open(browser, site, { serviceWorkers: 'block' });
    await join(page, site, `turn-${first}`);
    await page.route('**/api/sittings/*/cases/pb-heron', async route => {
      const answer = await route.fetch();
      const one = await answer.json();
      for (const trial of one.items.find(item => item.id === '10').trials) Object.assign(trial, { timeline: turning(first, second), end: 5 });
      await route.fulfill({ response: answer, json: one });
    });
    await toItem(page, await begin(page, 'Every case'), 'pb-heron/10');
    await page.locator('.player-play').first().click();
    await page.locator('.watch-press:enabled').first().waitFor();
    const figure = seconds => until(page, at => Number(/** @type {any} */ (window).since ??= performance.now()) + 1000 * at <= performance.now(), seconds);
    for (const at of [1, 2, 3, 5]) {
      await figure(at);
      await page.keyboard.press('Space');
    }
    await until(page, () => ['left', 'right'].every(side => /** @type {any} */ (document.getElementById(`see-turn_${side}`)).value !== ''));
    const seen = side => page.inputValue(`#see-turn_${side}`).then(Number);
    const [one, other] = [await seen(first), await seen(second)];
    assert.ok(one < other, `${one} s and ${other} s, of 1 and 2`);
    await page.context().close();
  });
}

test('where nothing is timed there is no watch, and the words go with the picture', async () => {
  const page = await open(browser, site, { serviceWorkers: 'block' });
  await join(page, site, 'no-watch');
  await page.route('**/api/sittings/*/cases/pb-heron', async route => {
    const answer = await route.fetch();
    const one = await answer.json();
    one.items.find(item => item.id === '11').trials = [{ practice: false, way: null, written: null, end: 2, timeline: [
      moment({ at: 0, poses: ['standing'], helpers: ['near'], text: 'He stands.' }),
      moment({ at: 1, poses: ['looking-left'], text: 'He looks to the left.' })] }];
    await route.fulfill({ response: answer, json: one });
  });
  await toItem(page, await begin(page, 'Every case'), 'pb-heron/11');
  await page.locator('.player-play').click();
  await page.locator('.player-caption', { hasText: 'He looks to the left.' }).waitFor();
  assert.equal(await page.locator('.watch-press, .caption-switch').count(), 0);
  await page.locator('.player-note', { hasText: 'The trial is over.' }).waitFor();
  await fill(page, { score: '3' });
  await save(page);
  await page.waitForSelector('.reason');
  assert.equal(await page.locator('.strip').count(), 0, 'nothing of a watch in the reason');
  await page.context().close();
});
