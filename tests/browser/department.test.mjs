// The department's pages in a browser: rounds, paper, rulings, the result of a round.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Site } from './site.mjs';
import { answerRest, axe, join, launch, open, shot, signIn } from './browser.mjs';

let site, browser, lead, round;

before(async () => {
  site = await Site.start();
  await site.prepare();
  browser = await launch();
  lead = await open(browser, site);
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
});
after(async () => {
  await browser?.close();
  await site?.stop();
});

/** What has the focus, in words. */
const focused = page => page.evaluate(() => document.activeElement === document.body ? 'nothing' : document.activeElement.textContent || document.activeElement.id);

test('a round is opened, scored by who is invited, closed, and its reasons are seen then', async () => {
  const student = await open(browser, site);
  await join(student, site, 'quiet-otter');
  assert.equal(await student.getByText('Calibration rounds').count(), 0);

  await lead.goto('/department');
  await lead.fill('#title', 'Fall round');
  await lead.check('input[name=group]');
  await lead.getByRole('button', { name: 'Open the round' }).click();
  const card = lead.locator('.card', { hasText: 'Fall round' });
  await card.waitFor();
  assert.match(await focused(lead), /^Fall round/);
  assert.equal(await lead.getByText('No round has been opened yet.').count(), 0);
  await card.getByText('0 raters have finished, 0 began, of 1.').waitFor();

  await student.goto('/');
  await student.getByRole('heading', { name: 'Calibration rounds' }).waitFor();
  await student.getByRole('button', { name: /^Begin.*Fall round/ }).click();
  await student.waitForURL('**/sitting/*');
  await student.waitForSelector('.scoring');
  const sitting = new URL(student.url()).pathname;
  await answerRest(student, sitting, '3');
  const finished = await student.evaluate(where => fetch(`/api/sittings/${where}/finish`,
    { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' }).then(answer => answer.status), sitting.split('/').pop());
  assert.equal(finished, 200);
  await student.goto('/');
  await student.getByText('Handed in. The reasons come when the round closes.').waitFor();

  await lead.reload();
  await card.getByText('1 rater has finished').waitFor();
  await card.getByText('Who has finished').click();
  await card.getByRole('cell', { name: /handed in/ }).waitFor();
  await shot(lead, 'department-rounds');
  await card.getByRole('button', { name: 'Close ...' }).click();
  // The question has the focus; left, the button that asked it.
  assert.match(await focused(lead), /^From then on it takes no more scores/);
  await card.getByRole('button', { name: 'Leave it' }).click();
  assert.match(await focused(lead), /^Close \.\.\./);
  await lead.keyboard.press('Enter');
  await card.getByRole('button', { name: 'Close Fall round', exact: true }).click();
  await card.getByText('Raters can see the reasons.').first().waitFor();
  assert.match(await focused(lead), /^Fall round\s*closed/);
  await student.goto('/');
  await student.getByRole('link', { name: 'See the reasons of Fall round' }).click();
  await student.waitForSelector('.figures');
  assert.deepEqual([...student.faults, ...lead.faults], []);
  round = await lead.evaluate(() => fetch('/api/rounds').then(answer => answer.json()).then(all => all[0].id));
});

test('a sheet takes fourteen keystrokes a case, goes back with Backspace, and is taken in after a look', async () => {
  await lead.goto('/department/paper');
  await lead.waitForSelector('.sheet');
  await lead.selectOption('#round', { label: 'Fall round' });
  await lead.fill('#rater', 'paper-rater');
  await lead.locator('input.mark').first().focus();
  await lead.keyboard.type('43210', { delay: 5 });
  await lead.keyboard.press('Backspace');
  await lead.keyboard.press('Backspace');
  await lead.keyboard.type('2r1122334', { delay: 5 });
  // Backspace went to the empty fifth cell, then took the fourth: 3 + 9 = 12 are filled, 2 are left.
  const filled = await lead.locator('input.mark').evaluateAll(all => all.map(one => one.value).join(''));
  assert.equal(filled, '4322r1122334');
  await lead.keyboard.type('44', { delay: 5 });
  assert.equal(await lead.evaluate(() => document.activeElement?.getAttribute('data-item')), '1');
  // The skip rule fills item 5 alone, and with its best level.
  await lead.keyboard.press('k');
  await lead.getByText('Item 1 takes 4, 3, 2, 1, 0, or one of n, o, r, u, c.').waitFor();
  await lead.keyboard.press('9');
  await lead.getByText('Item 1 takes 4, 3, 2, 1, 0').waitFor();
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByText('14 rows of paper-rater: 14 new, 0 there already, 0 rows refused.').waitFor();
  await shot(lead, 'department-paper');
  await lead.keyboard.press('Enter');
  await lead.getByText('Import 1: 14 scores taken in.').waitFor();
  await lead.getByRole('button', { name: 'Take back ... import 1' }).click();
  assert.match(await focused(lead), /^14 scores of import 1 are taken out again/);
  await lead.getByRole('button', { name: 'Take back import 1' }).click();
  await lead.getByRole('cell', { name: /^taken back/ }).waitFor();
  assert.equal(await focused(lead), '1');
});

test('a file is looked at: refused rows with their lines, then what is new', async () => {
  const steps = await lead.evaluate(() => fetch('/api/imports/choices').then(answer => answer.json())
    .then(all => all.sets.find(one => one.id === 'pb-round-demonstration').rows));
  const rows = [];
  const raters = { 'paper-a': '4', 'paper-b': '3', 'paper-c': '3', 'paper-d': '2', 'paper-e': '3' };
  for (const row of steps)
    for (const item of row.items)
      for (const [rater, level] of Object.entries(raters)) rows.push(`${rater},${round},${row.case},${item},${level}`);
  const file = text => ({ name: 'sheets.csv', mimeType: 'text/csv', buffer: Buffer.from(`rater,round,case,item,score\n${text}`) });
  await lead.setInputFiles('#file', file('paper-a,x,pb-hare,99,3\npaper-a,x,pb-hare,1,5\n'));
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText('`5` is no score of item 1').waitFor();
  assert.equal(await lead.getByRole('button', { name: 'Import', exact: true }).count(), 0);
  await lead.setInputFiles('#file', file(rows.join('\n')));
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText(`${rows.length} new, 0 there already`).waitFor();
  await lead.getByRole('button', { name: 'Import', exact: true }).click();
  await lead.getByText('scores taken in.').waitFor();
});

test('the result of a round says its answer first, and its agenda', async () => {
  await lead.goto(`/department/rounds/${round}`);
  await lead.getByRole('heading', { name: 'Agenda' }).waitFor();
  // The first sentence has a number, in points of the total, and no term of the trade.
  const [first] = await lead.locator('.lead').allInnerTexts();
  assert.match(first, /^On 95 of 100 of these cases two of your raters differ by at most \d+\.\d points of the total/);
  assert.doesNotMatch(first, /ICC|kappa|\d %/);
  const text = await lead.locator('main').innerText();
  assert.doesNotMatch(text, /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}/, 'rounds go by their titles');
  assert.doesNotMatch(text, /(^|[\s(])-\d|\d %|points of percent/, 'a true minus, percent without a space');
  assert.ok(await lead.locator('.distribution').count() > 0);
  assert.ok(await lead.getByText('paper-d').count() > 0);
  await shot(lead, 'department-result');
  await lead.setViewportSize({ width: 360, height: 740 });
  await shot(lead, 'department-result-phone');
  await lead.setViewportSize({ width: 1280, height: 900 });
});

test('a ruling with a fault is shown at its line; a good one is looked at, then put in force', async () => {
  await lead.goto('/department/rulings');
  await lead.waitForSelector('#text');
  const text = await lead.inputValue('#text');
  await lead.fill('#text', `${text}  - id: x\n    itm: "2"\n`);
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.locator('.faults li').first().waitFor();
  await lead.locator('.faults button').first().click();
  assert.equal(await lead.evaluate(() => document.activeElement?.id), 'text');
  await lead.fill('#text', `${text}  - id: our-2-resting\n    item: "2"\n    date: 2026-09-01\n    who: The lead\n    why: We guard every child.\n` +
    '    situation: a hand rests and bears nothing\n    when: {touch: resting, holds_on: none}\n    as_if: {touch: none}\n');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByText(/keys? changes?/).first().waitFor();
  await lead.fill('#why', 'Meeting of September');
  await shot(lead, 'department-rulings');
  await lead.getByRole('button', { name: 'Put in force' }).click();
  await lead.getByText('In force from now on.').waitFor();
  assert.match(await focused(lead), /^In force from now on/);
  await lead.getByRole('cell', { name: 'Meeting of September' }).waitFor();
  // A zone of the list gives the frame of a ruling.
  await lead.locator('details.fold summary').first().click();
  await lead.getByRole('button', { name: /^Write a ruling/ }).first().click();
  assert.match(await lead.inputValue('#text'), /when: \{/);
  assert.deepEqual(lead.faults, []);
});

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 320]]) {
  test(`axe-core finds nothing on the department's pages, ${scheme}, ${width} px wide, and nothing scrolls sideways`, async () => {
    const page = await open(browser, site, { width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
    await signIn(page, 'first-instructor');
    await page.waitForSelector('.cards');
    const found = [];
    for (const [where, there] of [['/department', '.card'], ['/department/paper', '.sheet'], ['/department/rulings', '#text'],
      [`/department/rounds/${round}`, '.distribution']]) {
      await page.goto(where);
      await page.waitForSelector(there);
      await page.waitForTimeout(150);
      found.push(...(await axe(page)).map(one => `${where}: ${one}`));
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      if (over > 0) found.push(`${where}: ${over} px too wide`);
    }
    assert.deepEqual(found, []);
    await page.context().close();
  });
}
