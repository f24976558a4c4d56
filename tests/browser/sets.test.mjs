// Composing sets, and the standard with its error rates, in a browser.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { axe, focused, join, open, overlaps, shot, signIn, unfold, until, withSite } from './browser.mjs';

let site, browser, lead;

withSite(async given => {
  ({ site, browser } = given);
  lead = await open(browser, site);
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
}, ['--invite']);

/** The strip tells of this many cases. */
const told = count => lead.locator('.beside .says', { hasText: new RegExp(`^${count} cases?,`) }).waitFor();

test('a set is composed with what it exercises beside it, looked at, put in force, and practiced with', async () => {
  await lead.goto('/sets');
  await lead.waitForSelector('.composer');
  await lead.locator('.beside').getByText('No case is chosen yet.').waitFor();
  assert.equal(await lead.locator('.composing .problem:not(:empty)').count(), 0, 'an empty form is not scolded');
  await lead.fill('#title', 'Fall practice: hands & feet');
  assert.equal(await lead.inputValue('#id'), 'fall-practice-hands-feet');
  await lead.getByRole('button', { name: 'Add pb-lark' }).click();
  assert.match(await focused(lead), /pb-lark$/, 'the focus goes to what was added');
  await told(1);
  await lead.getByRole('button', { name: 'Add pb-otter' }).click();
  await told(2);
  const scores = async () => Number(/(\d+) scores?:/.exec(await lead.locator('.beside .says').textContent())[1]);
  assert.equal(await scores(), 28);
  await lead.getByRole('button', { name: 'First half of the items of pb-otter' }).click();
  await until(lead, () => / 21 scores/.test(document.querySelector('.beside .says').textContent));
  // One item by its box, with the keyboard.
  await lead.getByRole('group', { name: /pb-otter/ }).getByRole('checkbox', { name: /^Item 1,/ }).focus();
  await lead.keyboard.press('Space');
  await until(lead, () => / 20 scores/.test(document.querySelector('.beside .says').textContent));
  assert.ok(await lead.locator('.cover-grid tbody tr').count() === 14);
  await lead.getByText('Browser class').count();
  await shot(lead, 'sets-composing');

  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByRole('heading', { name: 'What changes' }).waitFor();
  assert.match(await focused(lead), /^What changes/);
  await lead.getByText('A new set: 2 cases, for practice.').waitFor();
  await lead.getByRole('button', { name: 'Put in force' }).click();
  await lead.getByText('Say why: it is kept with the set.').waitFor();
  await lead.fill('#why', 'The fall class mixes these up');
  await lead.getByRole('button', { name: 'Put in force' }).click();
  await lead.getByText('"Fall practice: hands & feet" is in force.').waitFor();
  assert.match(await focused(lead), /is in force/);
  await lead.getByRole('row', { name: /Fall practice: hands & feet/ }).waitFor();

  const student = await open(browser, site);
  await join(student, site, 'quiet-otter');
  await student.locator('.card', { hasText: 'Fall practice: hands & feet' }).getByRole('button').click();
  await student.waitForURL('**/sitting/*');
  assert.deepEqual([...student.faults, ...lead.faults], []);
  await student.context().close();
});

test('faults stand at their fields; a set that scores rest on keeps its cases; a withdrawn one can come back', async () => {
  await lead.goto('/sets');
  await lead.waitForSelector('.composer');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.locator('#title-problem', { hasText: 'Give the set a title.' }).waitFor();
  assert.equal(await lead.evaluate(() => document.activeElement.id), 'title');
  await lead.fill('#title', 'A check');
  await lead.fill('#id', 'pb-all');
  await lead.selectOption('#mode', 'skills-check');
  await lead.getByRole('button', { name: 'Add pb-hare' }).click();
  await lead.getByText('was scored by no second reader and is for practice only').waitFor();
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.locator('#id-problem', { hasText: 'comes with the program' }).waitFor();
  await until(lead, () => document.activeElement.id === 'id');
  await lead.check('#demonstration');
  await lead.getByText('As a demonstration it decides about nobody').waitFor();
  assert.equal(await lead.getByText('was scored by no second reader').count(), 0);

  const row = lead.getByRole('row', { name: /^Fall practice/ });
  await row.getByRole('button', { name: /^Change/ }).click();
  await lead.getByText('Scores rest on this set, so its mode, cases and items stay as they are.').waitFor();
  assert.equal(await lead.locator('.pad input:enabled').count(), 0);
  await row.getByRole('button', { name: /^Withdraw/ }).click();
  await row.getByText('It is withdrawn: nothing new is begun with it').waitFor();
  await row.getByRole('textbox', { name: 'Why' }).fill('Next term');
  await row.getByRole('button', { name: 'Withdraw Fall practice: hands & feet', exact: true }).click();
  await lead.getByText('is withdrawn: nothing new is begun with it.').waitFor();
  await row.getByText('withdrawn', { exact: true }).waitFor();
  await row.getByRole('button', { name: /^Bring back/ }).click();
  await row.getByRole('textbox', { name: 'Why' }).fill('After all');
  await row.getByRole('button', { name: 'Bring back Fall practice: hands & feet', exact: true }).click();
  await lead.getByText('can be given and begun again.').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('a balanced set is drawn from cases that a group has not met', async () => {
  await lead.goto('/sets');
  await lead.waitForSelector('.composer');
  await lead.fill('#title', 'Winter demonstration');
  await lead.selectOption('#mode', 'skills-check');
  await lead.getByText('Draw cases by the blueprint').click();
  await lead.getByRole('button', { name: 'Draw a set' }).click();
  await lead.locator('#draw_cases-problem', { hasText: 'scored by no second reader' }).waitFor();
  await lead.check('#demonstration');
  await lead.getByRole('button', { name: 'Draw a set' }).click();
  await told(16);
  assert.match(await focused(lead), /^Its 16 cases/);
  const first = await lead.locator('.entries:not(.others) legend').allInnerTexts();
  await lead.getByText('It meets the blueprint').waitFor();
  await lead.getByText('It reaches 1 of the 3 looks of the standard: the one after 16 cases.').waitFor();
  await lead.fill('#draw_seed', '2');
  await lead.getByRole('button', { name: 'Draw a set' }).click();
  await until(lead, before => [...document.querySelectorAll('.entries:not(.others) legend')].map(one => one.innerText).join() !== before.join(), first);
  await lead.fill('#draw_seed', '1');
  await lead.getByRole('button', { name: 'Draw a set' }).click();
  await until(lead, before => [...document.querySelectorAll('.entries:not(.others) legend')].map(one => one.innerText).join() === before.join(), first);
  await shot(lead, 'sets-drawn');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByText('A new set: 16 cases, for skills checks.').waitFor();
  await lead.setViewportSize({ width: 360, height: 740 });
  await shot(lead, 'sets-phone');
  await lead.setViewportSize({ width: 1280, height: 900 });
  assert.deepEqual(lead.faults, []);
});

test('the standard is said in words, with how often it errs; a change is looked at, then put in force', async () => {
  await lead.goto('/department/standards');
  await lead.getByRole('heading', { name: 'In force: "Ready to score without a second rater"' }).waitFor();
  await lead.getByText('After 16, 24 and 32 cases with 7 items each').waitFor();
  await lead.getByText(/must not be called ready, it calls at most \d/).waitFor();
  assert.equal(await lead.locator('.beside table').count(), 4, 'a table for each correlation');
  await lead.getByText('cannot be told yet').waitFor();
  await lead.selectOption('#attempts', '1');
  await shot(lead, 'standard');
  // Nonsense is said at its field, and nothing is sent.
  await lead.fill('#competent', 'ninety');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.locator('#competent-problem').waitFor();
  await lead.fill('#competent', '75');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.locator('#competent-problem', { hasText: 'does not lie above' }).waitFor();
  assert.equal(await lead.evaluate(() => document.activeElement.id), 'competent');
  await lead.fill('#competent', '92');
  await lead.fill('#one_attempt', '85');
  await lead.fill('#two_attempts', '85');
  await lead.fill('#looks', '8, 12, 16, 20');
  await lead.getByText('are not those of these numbers any more').waitFor();
  await lead.getByRole('button', { name: 'Work out the error rates' }).click();
  await lead.getByText('Too often.').waitFor();
  await shot(lead, 'standard-too-often');
  await lead.fill('#one_attempt', '98');
  await lead.fill('#two_attempts', '98.5');
  await lead.fill('#looks', '16, 24, 32');
  await lead.fill('#title', 'Ready, and a little surer');
  await lead.getByRole('button', { name: 'Preview', exact: true }).click();
  await lead.getByRole('heading', { name: 'Whose decision would be another one' }).waitFor();
  assert.match(await focused(lead), /^Whose decision/);
  await lead.fill('#why', 'Meeting of September');
  await lead.getByRole('button', { name: 'Put in force' }).click();
  await lead.getByText('"Ready, and a little surer" is in force from now on.').waitFor();
  assert.match(await focused(lead), /is in force from now on/);
  await lead.getByText('one-sided, 98%').waitFor();
  await lead.getByRole('cell', { name: 'Meeting of September' }).waitFor();
  assert.deepEqual(lead.faults, []);
});

test('an instructor who leads nothing composes sets of their own, and reads the standard', async () => {
  await site.invite('second-instructor');
  const page = await open(browser, site);
  await signIn(page, 'second-instructor');
  await page.waitForSelector('.cards');
  await page.goto('/sets');
  await page.waitForSelector('.composer');
  const row = page.getByRole('row', { name: /^Fall practice/ });
  await row.waitFor();
  assert.equal(await row.getByRole('button', { name: /^Change|^Withdraw/ }).count(), 0);
  await row.getByRole('button', { name: /^Begin a new one like it/ }).click();
  await page.getByRole('heading', { name: /^A new set like/ }).waitFor();
  assert.equal(await page.inputValue('#id'), '');
  await page.getByText('You have no group with members').waitFor();
  await page.goto('/department/standards');
  await page.getByText('The lead of the department puts a standard in force.').waitFor();
  await page.getByText(/it calls at most \d/).waitFor();
  assert.equal(await page.locator('#competent').count(), 0);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 320]]) {
  test(`axe-core finds nothing on the pages of sets and the standard, ${scheme}, ${width} px wide, nothing scrolls sideways`, async () => {
    const page = await open(browser, site, { width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
    await signIn(page, 'first-instructor');
    await page.waitForSelector('.cards');
    const found = [];
    for (const [where, there] of [['/sets', '.composer'], ['/department/standards', '.beside table']]) {
      await page.goto(where);
      await page.waitForSelector(there);
      if (where === '/sets') {
        await page.getByRole('button', { name: 'Add pb-lark' }).click();
        await page.waitForSelector('.cover-grid');
      }
      await unfold(page);
      await until(page, () => !document.querySelector('.wait, [aria-busy]'));
      found.push(...(await overlaps(page)).map(one => `${where}: ${one}`));
      found.push(...(await axe(page)).map(one => `${where}: ${one}`));
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      if (over > 0) found.push(`${where}: ${over} px too wide`);
      await shot(page, `${where === '/sets' ? 'sets' : 'standard'}-${scheme}-${width}`);
    }
    assert.deepEqual(found, []);
    await page.context().close();
  });
}
