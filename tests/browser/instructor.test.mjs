// The instructor's half: a set given to a group, the board, a rater with remark and sign-off, a case-item, the log.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { test } from 'node:test';
import { passphrase, root } from './site.mjs';
import { axe, focused, join, open, overlaps, shot, signIn, unfold, until, withSite } from './browser.mjs';

const program = process.env.EVENHAND ?? path.join(root, 'build/debug/evenhand');
let site, browser, group;

withSite(async given => {
  ({ site, browser } = given);
  group = site.group.id;
  // Eight invented raters join, and what they scored on paper is brought in.
  const scores = path.join(site.folder, 'scores.csv');
  execFileSync(program, ['simulate', '--set', 'pb-all', '--raters', '8', '--seed', '3', '--quiet', '--out', scores]);
  const raters = new Set(fs.readFileSync(scores, 'utf8').split('\n').slice(1).map(line => line.split(',')[0]).filter(Boolean));
  assert.equal(raters.size, 8);
  for (const rater of raters) {
    const joined = await site.ask('POST', '/api/join', { code: site.code, rater, passphrase });
    assert.equal(joined.status, 201, JSON.stringify(joined.json));
  }
  execFileSync(program, ['import', scores, '--store', path.join(site.folder, 'site.db'), '--quiet']);
});

async function instructor(options = {}) {
  const page = await open(browser, site, options);
  await signIn(page, 'first-instructor');
  await page.waitForSelector('.cards');
  return page;
}

const sideways = page => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

test('an instructor gives a set to a group, and a student finds it first, with its closing time, and begins it', async () => {
  const page = await instructor();
  await page.goto('/groups');
  await page.getByRole('link', { name: 'Board of Browser class' }).click();
  await page.waitForURL(`**/groups/${group}`);
  await page.waitForSelector('.heatmap');
  await page.getByText('Give a set', { exact: true }).click();
  await page.selectOption('#set', 'pb-first-steps');
  await page.selectOption('#mode', 'skills-check');
  // What is no number, or no time, is said at its field.
  await page.fill('#attempts', 'two');
  await page.getByRole('button', { name: 'Give this set' }).click();
  await page.locator('#attempts-problem', { hasText: 'Attempts: a whole number from 1 to 20.' }).waitFor();
  assert.equal(await page.getAttribute('#attempts', 'aria-invalid'), 'true');
  const closes = await page.inputValue('#closes');
  await page.fill('#closes', '');
  await page.getByRole('button', { name: 'Give this set' }).click();
  await page.locator('#closes-problem', { hasText: 'Closes: choose a day and time.' }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), 'closes');
  await page.fill('#closes', closes);
  await page.fill('#attempts', '3');
  await page.getByRole('button', { name: 'Give this set' }).click();
  await page.locator('#attempts-problem', { hasText: 'taken once' }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), 'attempts');
  await page.fill('#attempts', '1');
  await page.getByRole('button', { name: 'Give this set' }).click();
  await page.locator('td', { hasText: 'open' }).first().waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();

  const student = await open(browser, site);
  await join(student, site, 'quiet-otter');
  await student.locator('h2', { hasText: 'From your instructor' }).waitFor();
  assert.equal(await student.locator('main h2').first().textContent(), 'From your instructor');
  const card = student.locator('.card', { hasText: 'First steps' }).first();
  assert.match(await card.textContent(), /skills check/);
  assert.match(await card.textContent(), /Closes \w+ \d+/);
  await shot(student, 'home-assigned');
  await card.getByRole('button').click();
  await student.waitForURL('**/sitting/*');
  await student.waitForSelector('.scoring');
  assert.deepEqual(student.faults, []);
  await student.context().close();
});

test('a set that was given is withdrawn after a question, and the focus stays in its row', async () => {
  const page = await instructor();
  await page.goto(`/groups/${group}`);
  const row = page.locator('tbody tr', { hasText: 'First steps' });
  await row.getByRole('button', { name: 'Withdraw ...' }).click();
  assert.match(await focused(page), /^Nobody can begin it from then on/);
  await page.keyboard.press('Tab');
  await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  assert.match(await focused(page), /^Withdraw \.\.\./, 'left as it was');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  await row.getByRole('cell', { name: 'withdrawn' }).waitFor();
  assert.match(await focused(page), /^First steps/);
  await page.getByRole('link', { name: 'All groups' }).click();
  await page.waitForURL('**/groups');
  await page.context().close();
  const student = await open(browser, site);
  await signIn(student, 'quiet-otter');
  await student.waitForSelector('.cards');
  assert.equal(await student.getByText('From your instructor').count(), 0);
  await student.context().close();
});

test('letters are no seats; a code is renewed, taken away and made again; a member gets a code in their row', async () => {
  const page = await instructor();
  await page.goto('/groups');
  await page.fill('#title', 'Morning class');
  await page.getByText('Seats and hours').click();
  for (const [id, wrong, says] of [['seats', 'ten', 'Seats: a whole number from 1 to 10,000, or nothing.'], ['hours', '4h', 'Hours: a number from 0.25 to 168, or nothing.']]) {
    await page.fill(`#${id}`, wrong);
    await page.getByRole('button', { name: 'Create the group' }).click();
    await page.locator(`#${id}-problem`, { hasText: says }).waitFor();
    assert.equal(await page.evaluate(() => document.activeElement.id), id);
    await page.fill(`#${id}`, '');
  }
  assert.equal(await page.locator('section.card').count(), 1, 'no group came of it');
  const card = page.locator('section.card', { hasText: 'Browser class' });
  const code = () => card.locator('.code').first().textContent();
  const first = await code();
  await card.getByRole('button', { name: 'New code ... for Browser class' }).click();
  assert.equal(await code(), first, 'asked first');
  await card.getByRole('button', { name: 'New code for Browser class', exact: true }).click();
  await until(page, old => document.querySelector('.code')?.textContent !== old, first);
  await card.getByRole('button', { name: 'Stop joining ... Browser class' }).click();
  await card.getByRole('button', { name: 'Stop joining Browser class', exact: true }).click();
  await card.getByText('Nobody can join now.').waitFor();
  assert.equal(await card.getByRole('button', { name: /^Stop joining/ }).count(), 0);
  await card.getByRole('button', { name: 'Let students join Browser class' }).click();
  await card.getByText('Code good until').waitFor();
  assert.match(await focused(page), /To join/);

  await card.getByText('Members', { exact: false }).last().click();
  const row = card.locator('tbody tr', { hasText: 'r03' });
  await row.getByRole('button', { name: 'Renew ... the passphrase of r03' }).click();
  assert.match(await focused(page), /^r03 gets a code that is good once/);
  assert.equal(await row.locator('.code').count(), 0);
  await row.getByRole('button', { name: 'Make a code' }).click();
  await row.locator('.code').waitFor();
  assert.match(await focused(page), /For r03/);
  const reset = (await row.locator('.code').textContent()).replace('-', '');
  assert.match(reset, /^[0-9A-Z]{8}$/i);
  assert.equal(await card.locator('tbody .code').count(), 1, 'in that row alone');
  const forgot = await open(browser, site);
  await forgot.goto('/reset');
  await forgot.fill('#code', reset);
  await forgot.fill('#rater', 'r03');
  await forgot.fill('#passphrase', 'another lamp downhill pencil');
  await forgot.click('button[type=submit]');
  await forgot.waitForSelector('.cards');
  assert.deepEqual([...page.faults, ...forgot.faults], []);
  await forgot.context().close();
  await page.context().close();
});

test('the board tells its numbers to the mouse, to the keyboard, and in its cells', async () => {
  const page = await instructor();
  await page.goto(`/groups/${group}`);
  await page.waitForSelector('.heatmap');
  const cells = page.locator('.heatmap td.heat');
  assert.equal(await cells.count(), 9 * 14);
  const says = page.locator('.says');
  await cells.nth(3).hover();
  assert.match(await says.textContent(), /^r\d+, item 4 .*: [+\u2212]?\d\.\d\d levels on average over \d+ scores\.$/);
  await cells.nth(0).focus();
  await page.keyboard.press('ArrowRight');
  assert.match(await says.textContent(), /, item 2 /);
  await page.keyboard.press('ArrowDown');
  const [first, second] = [await cells.nth(1).getAttribute('tabindex'), await cells.nth(15).getAttribute('tabindex')];
  assert.deepEqual([first, second], ['-1', '0'], 'the grid is one stop of the Tab key');
  assert.equal(await page.locator('.heatmap .figure').first().isVisible(), false);
  await page.getByLabel('Numbers in the cells').check();
  assert.equal(await page.locator('.heatmap .figure').first().isVisible(), true);
  // The sign does not hang on color.
  const signs = await page.locator('.heatmap .sign').allTextContents();
  assert.ok(signs.includes('\u25B2') && signs.includes('\u25BC'));
  assert.match(await page.locator('svg.dots').getAttribute('aria-label'), /^Mean signed error of 8 raters in points/);
  assert.match(await page.locator('main').textContent(), /decides about nobody/);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('a rater is remarked on and signed off; a correction is a further version, and a page that was printed has no forms', async () => {
  const page = await instructor();
  await page.goto(`/groups/${group}`);
  await page.locator('th a', { hasText: 'r01' }).first().click();
  await page.waitForURL('**/raters/r01');
  await page.locator('#decision').waitFor();
  await page.fill('#text', 'Starts the watch at the first sway.');
  await page.getByRole('button', { name: 'Add the remark' }).click();
  await page.locator('.remark', { hasText: 'first sway' }).waitFor();
  await page.fill('#name', 'Ines Faber, PT');
  const sign = async () => {
    await page.getByRole('button', { name: 'Sign off ...' }).click();
    await page.locator('.asking', { hasText: 'You sign as Ines Faber, PT' }).waitFor();
    await page.getByRole('button', { name: 'Sign off', exact: true }).click();
  };
  await sign();
  await page.locator('h3', { hasText: 'Version 1' }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), 'sign-offs');
  await page.fill('#name', 'Ines Faber, PT');
  await page.getByRole('button', { name: 'Sign off ...' }).click();
  await page.locator('#why-problem', { hasText: 'say why' }).waitFor();
  assert.equal(await page.getAttribute('#why', 'aria-invalid'), 'true');
  await page.fill('#why', 'The date was missing.');
  await sign();
  await page.locator('h3', { hasText: 'Version 2' }).waitFor();
  assert.equal(await page.locator('h3', { hasText: 'Version 1' }).count(), 1);
  const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'Download version 1 as it was signed' }).click()]);
  assert.equal(file.suggestedFilename(), 'rater-r01-version-1.json');
  const [html] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: 'HTML Report' }).click()]);
  assert.match(html.suggestedFilename(), /^competency-r01-\d{4}-\d\d-\d\d\.html$/);
  await page.emulateMedia({ media: 'print' });
  assert.equal(await page.locator('#name').isVisible(), false);
  assert.equal(await page.locator('#decision').isVisible(), true);
  assert.equal(await page.locator('h3', { hasText: 'Version 2' }).isVisible(), true);
  await shot(page, 'rater-print');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('signed versions are there after the program was killed and started again', async () => {
  await site.kill();
  await site.run();
  const page = await instructor();
  await page.goto(`/groups/${group}/raters/r01`);
  await page.locator('h3', { hasText: 'Version 2' }).waitFor();
  assert.equal(await page.locator('.notice', { hasText: 'not the one that was signed' }).count(), 0);
  await page.context().close();
});

test('the lead reads who looked at whom, and sets how long it is kept', async () => {
  const page = await instructor();
  await page.goto('/groups');
  await page.getByRole('link', { name: 'Log and retention period' }).click();
  await page.waitForURL('**/audit');
  await page.locator('tbody tr', { hasText: 'signed a report' }).first().waitFor();
  assert.match(await page.locator('tbody tr', { hasText: 'looked at a rater' }).first().textContent(), /first-instructor.*r01/);
  // Letters are no number, and no number must not become "nothing goes by itself".
  for (const wrong of ['abc', '7', '1e3', '-40', '9999']) {
    await page.fill('#days', wrong);
    await page.getByRole('button', { name: 'Set the period' }).click();
    await page.locator('#days-problem', { hasText: 'Days: a whole number from 30' }).waitFor();
    assert.equal(await page.evaluate(() => document.activeElement.id), 'days');
    assert.equal(await page.locator('.asking').count(), 0, wrong);
  }
  assert.deepEqual(await page.evaluate(() => fetch('/api/retention').then(answer => answer.json())), { days: null });
  await page.fill('#days', '730');
  await page.getByRole('button', { name: 'Set the period' }).click();
  await page.locator('.asking', { hasText: 'students not seen for 730 days are erased' }).waitFor();
  assert.deepEqual(await page.evaluate(() => fetch('/api/retention').then(answer => answer.json())), { days: null });
  await page.getByRole('button', { name: 'Set to 730 days' }).click();
  await page.locator('[role=status]', { hasText: 'Set to 730 days' }).waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('a student finds no such page', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  for (const where of [`/groups/${group}`, `/groups/${group}/raters/r01`, `/groups/${group}/cases/pb-lark/4`, '/audit'])
    assert.equal((await page.goto(where)).status(), 404, where);
  await page.context().close();
});

const pages = () => [
  ['groups', '/groups', '.card'],
  ['group', `/groups/${group}`, 'svg.dots'],
  ['rater', `/groups/${group}/raters/r01`, '#decision'],
  ['rater-new', `/groups/${group}/raters/quiet-otter`, '#sign-offs'],
  ['case-item', `/groups/${group}/cases/pb-lark/4`, '.ladder'],
  ['audit', '/audit', 'table'],
];

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 360]]) {
  test(`axe-core finds nothing on the instructor's pages, ${scheme}, ${width} px wide, nothing scrolls sideways or lies on another`, async () => {
    const page = await instructor({ width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
    const found = [];
    for (const [name, where, sign] of pages()) {
      await page.goto(where);
      await page.waitForSelector(sign);
      await page.waitForLoadState('networkidle');
      await unfold(page);
      await until(page, () => !document.querySelector('.wait'));
      for (const violation of await axe(page)) found.push(`${name}: ${violation}`);
      found.push(...(await overlaps(page)).map(one => `${name}: ${one}`));
      const out = await sideways(page);
      if (out > 0) found.push(`${name}: ${out} px wider than the window`);
      await shot(page, `instructor-${name}-${width}-${scheme}`);
    }
    await page.context().close();
    assert.deepEqual(found, []);
  });
}
