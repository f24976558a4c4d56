// What makes a trial void, what a press means when, and how a trial is played for those who want no motion or
// do not see it.

import assert from 'node:assert/strict';
import test from 'node:test';

import {launch} from './browser.mjs';
import {serve} from './timing_site.mjs';

const moment = (more) => ({poses: [], contacts: [], helpers: [], events: [], says: null, text: '', ...more});
const timeline = [
  moment({at: 0, poses: ['standing'], helpers: ['near'], text: 'He stands.'}),
  moment({at: 0.8, poses: ['one-leg-left'], events: ['foot-lifts', 'position-taken'], text: 'The right foot is up.'}),
  moment({at: 1.6, events: ['foot-down'], says: {who: 'child', words: 'Down.'}}),
  moment({at: 2, events: ['time-called']}),
];

async function open(browser, options = {}) {
  const {server, base} = await serve(timeline, 2, options);
  const page = await browser.newPage({viewport: {width: 900, height: 700}});
  const faults = [];
  page.on('pageerror', (error) => faults.push(error.message));
  await page.goto(base);
  await page.waitForSelector('#play');
  return {page, faults, close: async () => {
    assert.deepEqual(faults, []);
    await page.close();
    server.close();
  }};
}

const state = (page) => page.evaluate(`({mode: player.mode, readings: readings.length, voids, watch: watch.state, face: document.querySelector('.watch-face').textContent,
  open: !document.querySelector('.watch-press').disabled, note: document.querySelector('.player-note').textContent})`);
const play = async (page, least = 0.1) => {
  await page.click('#play');
  await page.waitForFunction(`player.mode === 'live' && player.drawnAt > ${least}`);
};

test('the player and the stopwatch keep to their rules', async (t) => {
  const browser = await launch();
  try {
    await t.test('a press means nothing before the trial plays, and Space starts and stops the watch while it does', async () => {
      const {page, close} = await open(browser);
      await page.keyboard.press('Space');
      assert.equal((await state(page)).watch, 'ready');
      await play(page);
      await page.keyboard.down('Space');
      await page.keyboard.down('Space');  // held down: repeats do not count
      assert.equal((await state(page)).watch, 'running');
      await page.keyboard.up('Space');
      assert.equal((await state(page)).mode, 'live');
      await page.waitForTimeout(150);
      await page.keyboard.press('Space');
      const after = await state(page);
      assert.equal(after.watch, 'stopped');
      assert.equal(after.readings, 1);
      const {seconds, start, stop, sound} = await page.evaluate('readings[0]');
      assert.equal(after.face, seconds.toFixed(2));
      assert.ok(Math.abs(stop - start - seconds) < 0.011);
      assert.ok(start > 0 && start < stop && typeof sound === 'boolean');
      await close();
    });

    await t.test('a pointer counts when it goes down, once, and a click without a pointer counts too', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.click('.watch-press');
      assert.equal((await state(page)).watch, 'running');
      await page.evaluate(`document.querySelector('.watch-press').click()`);
      assert.equal((await state(page)).readings, 1);
      await close();
    });

    await t.test('the clock goes on when the trial is over: a watch that runs can still be stopped', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.keyboard.press('Space');
      await page.waitForFunction('player.mode === "after"', null, {timeout: 8000});
      await page.keyboard.press('Space');
      const after = await state(page);
      assert.equal(after.readings, 1);
      assert.ok(await page.evaluate('readings[0].stop') > 2);
      assert.equal(after.open, false);
      await close();
    });

    await t.test('a hidden page voids the trial and says so', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.keyboard.press('Space');
      await page.evaluate(`Object.defineProperty(document, 'hidden', {value: true, configurable: true}); document.dispatchEvent(new Event('visibilitychange'))`);
      const after = await state(page);
      assert.equal(after.mode, 'idle');
      assert.equal(after.watch, 'ready');
      assert.equal(after.face, '0.00');
      assert.match(after.note, /hidden.*does not count/);
      assert.equal(after.readings, 0);
      await close();
    });

    await t.test('a picture that stands still for more than a second voids the trial', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.evaluate('{ const end = performance.now() + 1300; while (performance.now() < end); }');
      await page.waitForFunction('voids.length === 1');
      assert.match((await state(page)).note, /stood still/);
      await close();
    });

    await t.test('a clock that jumps, as after a sleep, voids the trial', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.evaluate('{ const now = Date.now; Date.now = () => now() + 60000; }');
      await page.waitForFunction('voids.length === 1');
      assert.match((await state(page)).note, /clock .* jumped/);
      await close();
    });

    await t.test('stopping voids the trial; playing again begins anew', async () => {
      const {page, close} = await open(browser);
      await play(page);
      await page.click('#play');
      assert.equal((await state(page)).voids.length, 1);
      await play(page);
      assert.equal((await state(page)).mode, 'live');
      await close();
    });

    await t.test('a replay keeps its pace and has no watch', async () => {
      const {page, close} = await open(browser);
      await page.evaluate('player.replay(0.8, 0.5)');
      await page.waitForFunction('player.mode === "replay" && player.drawnAt > 0.9');
      const [first, then] = await page.evaluate(`new Promise((done) => { const a = [performance.now(), player.drawnAt];
        setTimeout(() => done([a, [performance.now(), player.drawnAt]]), 400); })`);
      const pace = (then[1] - first[1]) / ((then[0] - first[0]) / 1000);
      assert.ok(Math.abs(pace - 0.5) < 0.12, `pace ${pace}`);
      assert.equal((await state(page)).open, false);
      await page.keyboard.press('Space');
      assert.equal((await state(page)).watch, 'ready');
      await close();
    });

    await t.test('what is said is shown; what is seen is not told in a live trial', async () => {
      const {page, close} = await open(browser);
      await play(page, 0.9);
      assert.equal(await page.textContent('.player-caption'), '');
      await page.waitForFunction(`document.querySelector('.player-said').textContent.includes('Down.')`);
      await page.waitForFunction(`document.querySelector('.player-said').textContent === 'The therapist Time.'`);
      assert.deepEqual(await page.evaluate('announced'), []);
      await close();
    });

    await t.test('the described form announces every moment when it comes', async () => {
      const {page, close} = await open(browser, {described: true});
      await play(page);
      await page.waitForFunction('player.mode === "after"', null, {timeout: 8000});
      assert.deepEqual(await page.evaluate('announced'), ['He stands.', 'The right foot is up.', 'The child says: “Down.”', 'The therapist says: “Time.”']);
      await close();
    });

    await t.test('without motion there is one picture a moment, at its time', async () => {
      const {page, close} = await open(browser, {stepwise: true});
      const pictures = await page.evaluate(`new Promise((done) => {
        const seen = []; const svg = document.querySelector('.fig'); let last = '';
        const look = () => { const now = svg.innerHTML; if (now !== last) { seen.push(player.drawnAt); last = now; }
          if (player.mode === 'after') done(seen); else requestAnimationFrame(look); };
        document.getElementById('play').click(); requestAnimationFrame(look); })`);
      assert.ok(pictures.length >= 3 && pictures.length <= timeline.length + 1, `${pictures.length} pictures`);
      assert.ok(pictures.some((at) => at >= 0.8 && at < 0.9), `${pictures}`);
      await close();
    });
  } finally {
    await browser.close();
  }
});
