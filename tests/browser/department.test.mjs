// The department's pages in a browser: rounds, paper, rulings, the result of a round.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { answerRest, axe, focused, join, open, overlaps, shot, signIn, unfold, until, withSite } from './browser.mjs';

let site, browser, lead, round;

withSite(async given => {
  ({ site, browser } = given);
  lead = await open(browser, site);
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
}, ['--invite']);

test('a round is opened, scored by who is invited, closed, and its reasons are seen then', async () => {
  const student = await open(browser, site);
  await join(student, site, 'quiet-otter');
  assert.equal(await student.getByText('Calibration rounds').count(), 0);

  await lead.goto('/department');
  await lead.fill('#title', 'Fall round');
  await lead.check('input[name=group]');
  // As one who is used to clicking twice.
  await lead.getByRole('button', { name: 'Open the round' }).dblclick();
  const card = lead.locator('.card', { hasText: 'Fall round' });
  await card.first().waitFor();
  assert.equal(await lead.evaluate(() => fetch('/api/rounds').then(answer => answer.json()).then(all => all.length)), 1, 'one round, of two clicks');
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
  assert.equal(await student.getByText('New here?').count(), 0, 'who handed a calibration in is no newcomer');

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
  await until(lead, () => /^Fall round\s*closed/.test(document.activeElement?.textContent ?? ''));
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
  // A case that was begun is typed to its end: what was left blank on paper is a miss, and has a letter.
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByText(/^Item 13 of pb-\w+ is empty/).waitFor();
  assert.equal(await lead.evaluate(() => document.activeElement?.getAttribute('data-item')), '13');
  await lead.keyboard.type('44', { delay: 5 });
  assert.equal(await lead.evaluate(() => document.activeElement?.getAttribute('data-item')), '1');
  // The skip rule fills item 5 alone, and with its best level.
  await lead.keyboard.press('k');
  await lead.getByText('Item 1 takes 4, 3, 2, 1, 0, or one of n, o, r, u, c.').waitFor();
  await lead.keyboard.press('9');
  await lead.getByText('Item 1 takes 4, 3, 2, 1, 0').waitFor();
  const preview = () => lead.getByRole('button', { name: 'Preview', exact: true }).click();
  const brings = lead.getByText('14 rows of paper-rater: 14 new, 0 there already, 0 rows refused.');
  // The id is checked as joining checks it.
  for (const [wrong, says] of [['Paper Rater', 'made of small letters'], ['x', '2 to 40'], ['key', 'goes by']]) {
    await lead.fill('#rater', wrong);
    await preview();
    await lead.locator('#rater-problem', { hasText: says }).waitFor();
    assert.equal(await lead.evaluate(() => document.activeElement.id), 'rater');
  }
  await lead.fill('#rater', 'paper-rater');
  assert.equal(await lead.locator('#rater-problem').count(), 0);
  await preview();
  await brings.waitFor();
  // What was looked at is gone as soon as anything is another: a mark, the rater, the round, the set.
  const marks = () => lead.locator('input.mark').evaluateAll(all => all.map(one => one.value).join(''));
  const before = await marks();
  for (const change of [() => lead.locator('input.mark').nth(3).press('1'), () => lead.fill('#rater', 'paper-b'),
    () => lead.selectOption('#round', ''), () => lead.selectOption('#set', 'pb-first-steps')]) {
    await change();
    await until(lead, () => !document.querySelector('#take-in'));
    assert.equal(await brings.count(), 0);
    await lead.locator('input.mark').nth(3).press('2');
    await lead.selectOption('#set', 'pb-round-demonstration');
    await lead.selectOption('#round', { label: 'Fall round' });
    await lead.fill('#rater', 'paper-rater');
    await lead.locator('input.mark').nth(3).press('2');
    // Another set took none of the marks away.
    assert.equal(await marks(), before);
    await preview();
    await brings.waitFor();
  }
  await shot(lead, 'department-paper');
  assert.equal(await focused(lead), 'Import');
  await lead.keyboard.press('Enter');
  await lead.getByText('Import 1: 14 scores taken in.').waitFor();
  await lead.getByRole('button', { name: 'Take back ... import 1' }).click();
  assert.match(await focused(lead), /^14 scores of import 1 are taken out again/);
  await lead.getByRole('button', { name: 'Take back import 1' }).click();
  await lead.getByRole('cell', { name: /^taken back/ }).waitFor();
  assert.equal(await focused(lead), '1');
});

test('a keyboard on a screen, which sends no keys, fills the sheet; the letters are buttons too', async () => {
  const marks = () => lead.locator('input.mark').evaluateAll(all => all.map(one => one.value).join(''));
  assert.equal(await marks(), '');
  await lead.locator('input.mark').first().focus();
  for (const digit of ['4', '3', '9', '2']) await lead.keyboard.insertText(digit);
  assert.equal(await marks(), '432');
  assert.equal(await lead.locator('input.mark').nth(3).evaluate(one => one === document.activeElement), true);
  await lead.getByRole('button', { name: /refused$/ }).click();
  assert.equal(await marks(), '432r');
  // Typed over, a mark is another.
  await lead.locator('input.mark').nth(1).focus();
  await lead.keyboard.insertText('0');
  assert.equal(await marks(), '402r');
  for (const place of [3, 2, 1, 0]) await lead.locator('input.mark').nth(place).press('Backspace');
  assert.equal(await marks(), '');
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
  assert.equal(await lead.getByText('not known here').count(), 0);
  await lead.getByRole('button', { name: 'Import', exact: true }).click();
  await lead.getByText('scores taken in.').waitFor();
  // A round of nobody, and a rater nobody can be.
  await lead.setInputFiles('#file', file('"Paper, A",fall-elsewhere,pb-hare,1,3\n'));
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText('A round that is not known here: fall-elsewhere.').waitFor();
  await lead.getByText('Nobody can join with this rater id: Paper, A.').waitFor();
  // Another score where one is kept: own words, the import to take back, nothing of the command line.
  await lead.setInputFiles('#file', file(`paper-a,${round},pb-hare,1,2\n`));
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText('Take back import 2 below, or correct the row.').waitFor();
  await lead.getByRole('region', { name: 'Rows that differ' }).getByRole('rowheader', { name: '2', exact: true }).waitFor();
  assert.doesNotMatch(await lead.locator('main').innerText(), /[0-9a-f]{8}-[0-9a-f]{4}-/, 'rounds go by their titles');
  await shot(lead, 'department-differs');
  await lead.setInputFiles('#file', { name: 'wide.csv', mimeType: 'text/csv', buffer: Buffer.from('who,1,2\nx,3,3\n') });
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText(/no column .rater./).first().waitFor();
  assert.doesNotMatch(await lead.locator('main').innerText(), /--wide/);
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

test('a result printed from a dark device is dark on white, unfolded, and without what only a screen needs', async () => {
  await lead.goto(`/department/rounds/${round}`);
  await lead.getByRole('heading', { name: 'Agenda' }).waitFor();
  await lead.evaluate(() => { document.documentElement.dataset.theme = 'dark'; });
  await lead.emulateMedia({ media: 'print', colorScheme: 'dark' });
  const looks = await lead.evaluate(() => {
    const of = one => getComputedStyle(one);
    const notice = of(document.querySelector('.notice'));
    return { scheme: of(document.documentElement).colorScheme, paper: of(document.body).backgroundColor, ink: of(document.body).color, notice: notice.backgroundColor };
  });
  assert.deepEqual(looks, { scheme: 'light', paper: 'rgb(255, 255, 255)', ink: 'rgb(0, 0, 0)', notice: 'rgb(255, 255, 255)' });
  for (const selector of ['header.top', 'nav[aria-label=Department]', 'footer.bottom', '.actions', 'button'])
    assert.equal(await lead.locator(selector).first().isVisible(), false, selector);
  await lead.evaluate(() => { delete document.documentElement.dataset.theme; });
  await lead.emulateMedia({ media: null, colorScheme: null });
  // Zones of the rulings are folded, whatever the round was like.
  await lead.goto('/department/rulings');
  await until(lead, () => [...document.querySelectorAll('main details:not([open])')].some(fold => !fold.closest('.no-print')));
  const folded = () => lead.evaluate(() => [...document.querySelectorAll('main details:not([open])')].filter(fold => !fold.closest('.no-print')).length);
  const before = await folded();
  assert.ok(before > 0);
  await lead.evaluate(() => dispatchEvent(new Event('beforeprint')));
  assert.equal(await folded(), 0);
  await lead.evaluate(() => dispatchEvent(new Event('afterprint')));
  assert.equal(await folded(), before, 'folded again');
});

test('a round is opened again and closed, then locked; its result stays, and takes no scores', async () => {
  await lead.goto('/department');
  const card = lead.locator('.card', { hasText: 'Fall round' });
  const settle = async (verb, says, state) => {
    await card.getByRole('button', { name: `${verb} ...` }).click();
    assert.match(await focused(lead), says);
    await card.getByRole('button', { name: `${verb} Fall round`, exact: true }).click();
    await card.locator('.tag', { hasText: state }).waitFor();
    await until(lead, then => new RegExp(`^Fall round\\s*${then}`).test(document.activeElement?.textContent ?? ''), state);
  };
  await settle('Open again', /^Whoever looked meanwhile has seen reasons/, 'open');
  assert.equal(await card.getByRole('link', { name: 'Result of Fall round' }).count(), 0);
  await settle('Close', /^From then on it takes no more scores/, 'closed');
  await card.getByRole('link', { name: 'Result of Fall round' }).click();
  const first = await lead.locator('.lead').innerText();
  await lead.getByText('Not locked: imports may still change it, and so do rulings.').waitFor();
  await lead.goto('/department');
  await settle('Lock', /stays by the keys and rulings that are in force now/, 'locked');
  assert.equal(await card.getByRole('button', { name: /\.\.\./ }).count(), 0);
  await card.getByText('Its scores are those it was locked with.').waitFor();
  await card.getByText('Its result stays by the keys and rulings that were in force when it was locked.').waitFor();
  await card.getByRole('link', { name: 'Result of Fall round' }).click();
  await lead.getByText('Locked: worked out by the keys and rulings that were in force then.').waitFor();
  assert.equal(await lead.locator('.lead').innerText(), first);
  // A ruling is asked for where the result says so: the link unfolds the item.
  const link = lead.getByRole('link', { name: /^Record a ruling for item/ }).first();
  const item = /item (\d+)/.exec(await link.textContent())[1];
  await link.click();
  await lead.waitForURL(`**/department/rulings?instrument=*#item-${item}`);
  await until(lead, id => document.querySelector(`#item-${id}`)?.open, item);
  assert.match(await focused(lead), new RegExp(`^Item ${item},`));
  await lead.goto('/department/paper');
  await lead.waitForSelector('#file');
  await lead.setInputFiles('#file', { name: 'late.csv', mimeType: 'text/csv', buffer: Buffer.from(`rater,round,case,item,score\npaper-z,${round},pb-hare,1,3\n`) });
  await lead.getByRole('button', { name: 'Preview the file' }).click();
  await lead.getByText('Locked: Fall round. No scores come in there.').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('an instructor who leads nothing finds what is theirs: no result of others, no editor, groups first', async () => {
  await site.invite('second-instructor');
  await lead.goto('/department');
  await lead.fill('#title', 'Everybody together');
  await lead.getByRole('button', { name: 'Open the round' }).click();
  const settled = lead.locator('.card', { hasText: 'Everybody together' });
  await settled.getByRole('button', { name: 'Close ...' }).click();
  await settled.getByRole('button', { name: 'Close Everybody together', exact: true }).click();
  await settled.locator('.tag', { hasText: 'closed' }).waitFor();

  const page = await open(browser, site);
  await signIn(page, 'second-instructor');
  await page.waitForSelector('.cards');
  await page.goto('/department');
  const card = page.locator('.card', { hasText: 'Everybody together' });
  await card.getByText('No rater of yours is in it.').waitFor();
  assert.equal(await page.getByText('Fall round').count(), 0);
  assert.equal(await card.getByRole('link').count(), 0, 'no result of raters of others');
  assert.equal(await card.getByRole('button').count(), 0, 'whoever opened it settles it');
  assert.equal(await page.getByRole('button', { name: 'Open the round' }).count(), 0);
  await page.goto(`/department/rounds/${round}`);
  await page.getByText('There is no such round.').waitFor();
  await page.goto('/department/rulings');
  await page.getByText('The lead of the department records rulings.').waitFor();
  assert.equal(await page.locator('#text, button:has-text("Write a ruling")').count(), 0);
  await page.goto('/audit');
  await page.getByText("This is for the department's lead.").waitFor();
  await page.goto('/department');
  await page.getByRole('link', { name: 'create a group' }).click();
  await page.waitForURL('**/groups');
  assert.equal(await page.getByRole('link', { name: 'Log and retention' }).count(), 0);
  await page.fill('#title', 'Evening class');
  await page.getByRole('button', { name: 'Create the group' }).click();
  await page.locator('.card', { hasText: 'Evening class' }).waitFor();
  assert.match(await focused(page), /^Evening class/);
  await page.goto('/department');
  await page.fill('#title', 'Evening round');
  await page.getByRole('button', { name: 'Open the round' }).click();
  await page.getByText('Tick at least one group.').waitFor();
  await page.check('input[name=group]');
  await page.getByRole('button', { name: 'Open the round' }).click();
  await page.locator('.card', { hasText: 'Evening round' }).waitFor();
  assert.match(await focused(page), /^Evening round/);
  assert.deepEqual(page.faults, []);
  await page.context().close();
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
  await lead.locator('details[id^="item-"] summary').first().click();
  await lead.getByRole('button', { name: /^Write a ruling/ }).first().click();
  assert.match(await lead.inputValue('#text'), /when: \{/);
  assert.deepEqual(lead.faults, []);
});

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 320]]) {
  test(`axe-core finds nothing on the department's pages, ${scheme}, ${width} px wide, nothing scrolls sideways or lies on another`, async () => {
    const page = await open(browser, site, { width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
    await signIn(page, 'first-instructor');
    await page.waitForSelector('.cards');
    const found = [];
    for (const [where, there] of [['/department', '.card'], ['/department/paper', '.sheet'], ['/department/rulings', '#text'],
      [`/department/rounds/${round}`, '.distribution']]) {
      await page.goto(where);
      await page.waitForSelector(there);
      await unfold(page);
      await until(page, () => !document.querySelector('.wait, [aria-busy]'));
      found.push(...(await overlaps(page)).map(one => `${where}: ${one}`));
      found.push(...(await axe(page)).map(one => `${where}: ${one}`));
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      if (over > 0) found.push(`${where}: ${over} px too wide`);
    }
    assert.deepEqual(found, []);
    await page.context().close();
  });
}

test('whoever was signed out meanwhile keeps what was typed, and is told how to go on', async () => {
  const page = await open(browser, site);
  await signIn(page, 'first-instructor');
  await page.waitForSelector('.cards');
  // A set takes one round of the same raters at a time.
  await page.evaluate(async () => {
    for (const one of await (await fetch('/api/rounds')).json())
      await fetch(`/api/rounds/${one.id}/close`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' });
  });
  await page.goto('/department');
  await page.fill('#title', 'Typed before');
  await page.context().clearCookies();
  await page.getByRole('button', { name: 'Open the round' }).click();
  await page.getByText('You were signed out').waitFor();
  assert.equal(await page.inputValue('#title'), 'Typed before');
  const [beside] = await Promise.all([page.context().waitForEvent('page'), page.getByRole('link', { name: 'Sign in in a new tab' }).click()]);
  await beside.fill('#rater', 'first-instructor');
  await beside.fill('#passphrase', passphrase);
  await beside.click('button[type=submit]');
  await beside.waitForSelector('.cards');
  await page.getByRole('button', { name: 'Open the round' }).click();
  await page.locator('.card', { hasText: 'Typed before' }).waitFor();
  await page.context().close();
});
