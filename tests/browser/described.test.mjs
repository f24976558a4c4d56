// Trials in their described form: noted with the answer, accepted by the instructor or as arranged; more time for one
// rater; and captions, which are practice's alone.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { answerRest, axe, begin, fill, focused, join, open, overlaps, save, shot, signIn, toItem, until, withSite } from './browser.mjs';

let site, browser, group;

withSite(async started => {
  ({ site, browser } = started);
  group = site.group.id;
  const given = await site.ask('POST', `/api/groups/${group}/assignments`, { set: 'pb-first-steps', mode: 'skills-check',
    opens: new Date(Date.now() - 60000).toISOString(), closes: new Date(Date.now() + 3600000).toISOString() }, site.instructor);
  assert.equal(given.status, 201, JSON.stringify(given.json));
});

async function instructor(options = {}) {
  const page = await open(browser, site, options);
  await signIn(page, 'first-instructor');
  await page.waitForSelector('.cards');
  return page;
}
const toggle = page => page.getByLabel('Described form: the moments in words, as they happen').first();

test('a reach is read off the rule: the picture shows it, only the described form says it, and that is noted', async () => {
  const page = await open(browser, site);
  await join(page, site, 'near-heron');
  const sitting = await page.evaluate(async () => (await (await fetch('/api/sittings', { method: 'POST',
    headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ set: 'pb-all', mode: 'practice' }) })).json()).id);
  await toItem(page, `/sitting/${sitting}`, 'pb-heron/14');
  const rule = page.locator('svg.fig-close');
  await rule.waitFor();
  assert.equal(await page.locator('.watch button').count(), 0, 'nothing is timed');
  await page.getByRole('button', { name: 'Play' }).click();
  // The knuckles, the front of the fist, in centimeters from the 0 of the rule: 7 units each.
  const reads = () => page.evaluate(() => {
    const ticks = [...document.querySelectorAll('svg.fig-close path.fig-line-thing')].map(one => one.getAttribute('d').match(/^M([-\d.]+) [-\d.]+L\1 /))
      .filter(Boolean).map(([, x]) => Number(x));
    return [...document.querySelectorAll('svg.fig-close circle.fig-hand.fig-child')].map(one => Number(one.getAttribute('cx')) + Number(one.getAttribute('r')))
      .reduce((most, x) => Math.max(most, x), -1e9) / 7 - Math.min(...ticks) / 7;
  });
  await until(page, () => /The knuckles stop/.test(document.querySelector('.player-caption')?.textContent ?? ''));
  const read = await reads();
  assert.ok(Math.abs(read - 27) < 0.4, `the rule reads ${read} cm`);
  await shot(page, 'reach-wide');
  await page.setViewportSize({ width: 360, height: 800 });
  await shot(page, 'reach-phone');
  assert.doesNotMatch(await page.locator('.trial').first().innerText(), /27|10\.6/, 'nothing says the number');
  await toggle(page).check();
  await page.locator('.described-note', { hasText: /./ }).first().waitFor();
  await page.locator('.moments summary').first().click();
  await page.locator('.moments-list', { hasText: 'On the rule: 10.6 inches (27 cm).' }).first().waitFor();
  await toggle(page).uncheck();
  await fill(page, { facts: { distance: '10.6' }, score: '4' });
  await save(page);
  await until(page, async place => (await (await fetch(place)).json()).answers.some(one => one.item === '14'), `/api/sittings/${sitting}`);
  const kept = await page.evaluate(async place => (await (await fetch(place)).json()).answers.find(one => one.item === '14'), `/api/sittings/${sitting}`);
  assert.deepEqual(kept.described, [1]);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('a check taken from descriptions is noted, asks the instructor, and is accepted, taken back and not accepted', async () => {
  const page = await open(browser, site);
  await join(page, site, 'calm-otter');
  const sitting = await begin(page, 'First steps on the Pediatric Balance Scale');
  await toItem(page, sitting, 'pb-lark/6');
  assert.equal(await page.locator('.caption-switch').count(), 0, 'no captions in a check');
  await toggle(page).check();
  await page.locator('.described-note', { hasText: 'Your instructor is asked whether your answer is accepted.' }).first().waitFor();
  assert.ok(await page.locator('.moments-list li').count() > 3);
  await shot(page, 'described-form-check');
  // The picture again: what was read stays read.
  await toggle(page).uncheck();
  await fill(page, { facts: { hold: '11.6' }, score: '4' });
  await save(page);
  const where = `/api${sitting.replace('sitting', 'sittings')}`;
  await until(page, async place => (await (await fetch(place)).json()).answers.some(one => one.item === '6'), where);
  const kept = await page.evaluate(async place => (await (await fetch(place)).json()).answers.find(one => one.item === '6'), where);
  assert.deepEqual(kept.described, [1]);
  assert.deepEqual(kept.stopwatch, []);
  // One more from its description, so that there is something to decide at once.
  await toItem(page, sitting, 'pb-lark/9');
  await toggle(page).check();
  await page.check('input[name=which][value="1"]');
  await fill(page, { facts: { hold: '9.7' }, score: '3' });
  await save(page);
  await until(page, async place => (await (await fetch(place)).json()).answers.length === 2, where);
  await answerRest(page, sitting);
  await page.evaluate(async place => { await fetch(`${place}/finish`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' }); }, where);
  assert.deepEqual(page.faults, []);
  await page.context().close();

  const desk = await instructor();
  await desk.goto(`/groups/${group}`);
  await desk.locator('.heatmap').waitFor();
  await desk.getByRole('heading', { name: 'Trials taken in their described form' }).waitFor();
  await desk.locator('a[href$="#from-descriptions"]', { hasText: 'calm-otter' }).click();
  await desk.locator('#from-descriptions').waitFor();
  await until(desk, () => document.activeElement?.id === 'from-descriptions');
  assert.match(await desk.locator('main').textContent(), /2 scores that count come from trials taken in their described form/);
  const section = desk.locator('section', { has: desk.locator('#from-descriptions') });
  assert.equal(await section.locator('.card').count(), 2);
  await shot(desk, 'described-rater-wide');
  // Without a reason nothing is said.
  await section.locator('.card').first().locator('summary').click();
  await section.locator('.card').first().getByRole('button', { name: /^Accept/ }).click();
  await section.locator('#why-0-problem', { hasText: 'Say why in a few words.' }).waitFor();
  await section.locator('#why-0').fill('Agreed when she joined.');
  await section.locator('.card').first().getByRole('button', { name: /^Accept/ }).click();
  await section.locator('.card').first().getByText(/Accepted by first-instructor/).waitFor();
  assert.match(await focused(desk), /Trials taken in their described form/);
  await section.locator('.card').first().getByRole('button', { name: /^Take this back/ }).click();
  await section.locator('.card').first().getByText(/Not accepted yet/).waitFor();
  // Both at once, this time not.
  await section.getByText('Decide about all 2 that wait at once').click();
  await section.locator('#why-all').fill('It was not arranged.');
  await section.getByRole('button', { name: /^Accept none of them/ }).click();
  await until(desk, () => (document.querySelector('main')?.textContent ?? '').split('It counts as not given.').length === 3);
  assert.match(await desk.locator('main').textContent(), /2 were not accepted and count as not given\./);
  assert.deepEqual(desk.faults, []);
  await desk.context().close();
});

test('of a practice trial nothing is noted: it does not count, whatever form it is taken in', async () => {
  const page = await open(browser, site);
  await join(page, site, 'mild-finch');
  await toItem(page, await begin(page, 'Demonstration of a skills check'), 'pb-heron/8');
  const note = place => page.locator('.described-note').nth(place).textContent();
  const box = place => page.getByLabel('Described form').nth(place);
  await page.locator('.trial', { hasText: 'Practice trial' }).first().waitFor();
  await box(0).check();
  await box(1).check();
  assert.match(await note(1), /Your instructor is asked/);
  assert.equal(await note(0), '');
  assert.ok(await page.locator('.moments').first().isVisible());
  await page.context().close();
});

test('more time and the described form are arranged with one rater, who is told of it', async () => {
  const page = await open(browser, site);
  await join(page, site, 'quiet-heron');
  const desk = await instructor();
  await desk.goto(`/groups/${group}/raters/quiet-heron`);
  await desk.locator('#arranged').waitFor();
  await desk.getByText('Arrange more time, or the described form').click();
  await desk.fill('#more_minutes', 'some');
  await desk.getByRole('button', { name: 'Arrange this' }).click();
  await desk.locator('#more_minutes-problem').waitFor();
  await desk.fill('#more_minutes', '2');
  await desk.selectOption('#more_unit', { label: 'days' });
  await desk.getByLabel('Trials in their described form are accepted as they come').check();
  await shot(desk, 'described-arrange-wide');
  await desk.getByRole('button', { name: 'Arrange this' }).click();
  await desk.getByText(/2 days more after a set closes; trials in their described form are accepted as they come\./).waitFor();
  assert.match(await focused(desk), /What is arranged/);
  await desk.goto(`/groups/${group}`);
  await desk.getByRole('heading', { name: 'What is arranged' }).waitFor();
  assert.match(await desk.locator('main').textContent(), /quiet-heron: 2 days more/);
  await page.goto('/');
  await page.locator('.card', { hasText: 'for you: more time was arranged' }).waitFor();
  const sitting = await begin(page, 'First steps on the Pediatric Balance Scale');
  await toItem(page, sitting, 'pb-lark/6');
  await toggle(page).check();
  await page.locator('.described-note', { hasText: 'As arranged, your answer is accepted as it comes.' }).first().waitFor();
  assert.deepEqual([...page.faults, ...desk.faults], []);
  await page.context().close();
  await desk.context().close();
});

test('captions while the watch runs are off at first, are had in practice, and are kept on the device', async () => {
  const page = await open(browser, site);
  await join(page, site, 'tall-wren');
  const sitting = await begin(page, 'Every case of the library');
  const first = await page.evaluate(async place => (await (await fetch(place)).json()).steps[0].case, `/api${sitting.replace('sitting', 'sittings')}`);
  await toItem(page, sitting, `${first}/6`);
  const card = page.locator('.trial', { has: page.locator('.player') }).first();
  const captions = card.getByLabel('Captions while I time: what is seen, in words below the picture');
  const caption = () => card.locator('.player-caption').textContent();
  const moments = card.locator('.moments-list li');
  assert.ok(await moments.count() > 2);
  assert.equal(await captions.isChecked(), false);
  const play = card.locator('.player-play');
  await play.click();
  await card.locator('.watch-press:enabled').waitFor();
  // The first moments have come when the second one's picture is drawn; none of them is told in words.
  await page.waitForTimeout(4000);
  assert.equal(await caption(), '');
  await play.click();
  await captions.check();
  await play.click();
  await until(page, () => (document.querySelector('.trial .player-caption')?.textContent ?? '') !== '');
  await shot(page, 'captions-practice');
  await play.click();
  await page.reload();
  await page.waitForSelector('.caption-switch');
  assert.equal(await page.locator('.caption-switch').first().isChecked(), true);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('what the instructor sees has no fault that axe-core finds, in light and dark, wide and at 320 px', async () => {
  for (const [width, colorScheme] of [[1280, 'light'], [1280, 'dark'], [320, 'light'], [320, 'dark']]) {
    const page = await instructor({ width, colorScheme, bypassCSP: true });
    await page.goto(`/groups/${group}/raters/calm-otter`);
    await page.locator('#from-descriptions').waitFor();
    assert.deepEqual(await page.locator('.chart:not(.dots) text[text-anchor=middle]').allTextContents(), ['1'], 'the curve numbers the sittings');
    await page.evaluate(() => document.querySelectorAll('main details').forEach(fold => { fold.open = true; }));
    assert.deepEqual(await axe(page), [], `${width} ${colorScheme}`);
    assert.deepEqual(await overlaps(page), []);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth), 0);
    await shot(page, `described-rater-${width}-${colorScheme}`);
    await page.context().close();
  }
});
