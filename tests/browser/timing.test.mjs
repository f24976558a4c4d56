// How exact the stopwatch is. A key is pressed at known moments of the playback, and what the watch recorded is
// held against them; and the figure is held against the clock, frame by frame.
//
// A press is made through the browser's own input path (DevTools protocol, Input.dispatchKeyEvent), once with
// the time at which it happened, as an operating system stamps its input, and once without, when the browser
// takes the time at which the message reached it: that error has the way of the message in it. What a keyboard,
// a touch screen and a display add lies outside this test; what is the same at start and stop cancels.

import assert from 'node:assert/strict';
import test from 'node:test';

import {launch} from './browser.mjs';
import {serve} from './timing_site.mjs';

/** A long hold in which much happens. */
const timeline = [
  {at: 0, poses: ['standing'], helpers: ['near']}, {at: 1.5, events: ['position-taken']},
  ...Array.from({length: 25}, (_, i) => ({at: 3 + 2.2 * i, events: [['sways', 'near-loss', 'arms-swing', 'toes-grip'][i % 4]]})),
].map((moment) => ({poses: [], contacts: [], helpers: [], events: [], says: null, text: '', ...moment}));

const quantile = (values, share) => [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.ceil(share * values.length) - 1)];
const sleep = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));

/**
 * Presses Space at moments of a playback. @returns errors in milliseconds, and what the page saw
 * @param {any} browser @param {string} base @param {{presses: number, stamped: boolean, busy?: number}} how
 */
async function measure(browser, base, {presses, stamped, busy = 0}) {
  const context = await browser.newContext({viewport: {width: 900, height: 700}});
  const tab = await context.newPage();
  await tab.goto(base);
  await tab.waitForSelector('#play');
  const cdp = await context.newCDPSession(tab);
  await tab.click('#play');
  await tab.waitForFunction('player.mode === "live" && player.drawnAt > 0.2');
  // Both clocks in milliseconds since 1970: the page's against this program's, by the shortest of many questions.
  let offset = 0, shortest = Infinity;
  for (let i = 0; i < 40; ++i) {
    const before = performance.timeOrigin + performance.now();
    const theirs = await tab.evaluate('performance.timeOrigin + performance.now()');
    const after = performance.timeOrigin + performance.now();
    if (after - before < shortest) [shortest, offset] = [after - before, theirs - (before + after) / 2];
  }
  const zero = await tab.evaluate('performance.timeOrigin + player.zero') - offset;
  if (busy) await tab.evaluate(`setInterval(() => { const end = performance.now() + ${busy}; while (performance.now() < end); }, 2 * ${busy})`);
  const first = performance.timeOrigin + performance.now() - zero + 300;
  const sent = [];
  const key = {key: ' ', code: 'Space', windowsVirtualKeyCode: 32};
  for (let i = 0; i < presses; ++i) {
    const at = first + 180 * i + (i * 37) % 50;
    while (performance.timeOrigin + performance.now() - zero < at - 3) await sleep(1);
    while (performance.timeOrigin + performance.now() - zero < at);
    const now = performance.timeOrigin + performance.now();
    sent.push(now - zero);
    await cdp.send('Input.dispatchKeyEvent', {type: 'rawKeyDown', ...key, ...(stamped ? {timestamp: (now + offset) / 1000} : {})});
    await cdp.send('Input.dispatchKeyEvent', {type: 'keyUp', ...key});
  }
  await sleep(200);
  const seen = await tab.evaluate('({readings, behind, frames, voids, quality: player.quality})');
  await context.close();
  const recorded = seen.readings.flatMap(({start, stop}) => [1000 * start, 1000 * stop]);
  return {...seen, shortest, errors: recorded.map((time, i) => time - sent[i]), recorded, sent};
}

function say(test, what, errors) {
  const sizes = errors.map(Math.abs);
  test.diagnostic(`${what}: n ${errors.length}, median ${quantile(sizes, 0.5).toFixed(2)} ms, 99th percentile ${quantile(sizes, 0.99).toFixed(2)} ms, largest ${Math.max(...sizes).toFixed(2)} ms`);
}

test('presses are recorded when they happened, and the figure keeps to the clock', async (t) => {
  const {server, base} = await serve(timeline, 60);
  const browser = await launch();
  try {
    const stamped = await measure(browser, base, {presses: 240, stamped: true});
    assert.deepEqual(stamped.voids, []);
    assert.equal(stamped.errors.length, 240);
    say(t, 'a press with its own time', stamped.errors);
    const sizes = stamped.errors.map(Math.abs);
    assert.ok(quantile(sizes, 0.5) < 10, 'median');
    assert.ok(quantile(sizes, 0.99) < 25, '99th percentile');
    say(t, 'from start to stop, cut to hundredths', stamped.readings.map(({seconds}, i) => 1000 * seconds - (stamped.sent[2 * i + 1] - stamped.sent[2 * i])));

    // The picture of an instant is the picture of its frame; between frames it is at most one frame old.
    const off = stamped.frames.map(([, late]) => late);
    const gaps = stamped.frames.slice(1).map(([now], i) => now - stamped.frames[i][0]);
    const frame = quantile(gaps, 0.5);
    t.diagnostic(`frames: n ${off.length}, usual gap ${frame.toFixed(2)} ms, drawn off their time by at most ${Math.max(...off.map(Math.abs)).toFixed(3)} ms, ` +
      `picture behind a press by median ${quantile(stamped.behind, 0.5).toFixed(2)} ms, 99th percentile ${quantile(stamped.behind, 0.99).toFixed(2)} ms; ` +
      `dropped ${stamped.quality.dropped}, largest gap ${stamped.quality.largestGap.toFixed(1)} ms`);
    assert.ok(off.length > 1000);
    assert.ok(Math.max(...off.map(Math.abs)) <= frame, 'a picture is not that of its frame');
    assert.ok(quantile(stamped.behind.map(Math.abs), 0.5) <= frame + 0.5);

    const plain = await measure(browser, base, {presses: 240, stamped: false});
    assert.equal(plain.errors.length, 240);
    say(t, 'a press without a time, the way of its message included', plain.errors);

    const busy = await measure(browser, base, {presses: 120, stamped: true, busy: 120});
    assert.equal(busy.errors.length, 120);
    say(t, 'a press with its own time, the page busy for 120 ms of 240', busy.errors);
    assert.ok(quantile(busy.errors.map(Math.abs), 0.99) < 25, 'a busy page shifts presses');
  } finally {
    await browser.close();
    server.close();
  }
});
