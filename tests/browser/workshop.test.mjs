// The case workshop in a browser: a draft is written with what follows beside it, read by others without its key,
// and put into the library.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { test } from 'node:test';
import { root } from './site.mjs';
import { axe, focused, open, overlaps, shot, signIn, unfold, until, withSite } from './browser.mjs';

let site, browser, lead, ines;
const shipped = fs.readFileSync(path.join(root, 'cases/pediatric-balance/pb-lark.yaml'), 'utf8').replace('id: pb-lark', 'id: pb-robin');
const draft = '/workshop/cases/pb-robin';

withSite(async given => {
  ({ site, browser } = given);
  await site.invite('second-instructor');
  lead = await open(browser, site);
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
  ines = await open(browser, site);
  await signIn(ines, 'second-instructor');
  await ines.waitForSelector('.cards');
}, ['--invite']);

/** The text of the editor is this, and was checked. */
async function write(page, text) {
  const checked = page.waitForResponse(answer => answer.url().endsWith('/api/workshop/check') && answer.request().postDataJSON().text === text);
  await page.fill('#text', text);
  await checked;
}

test('a case begins with a small form, whose faults stand at their fields', async () => {
  await ines.goto('/department');
  await ines.getByRole('link', { name: 'Case workshop' }).click();
  await ines.getByRole('heading', { name: 'A new case' }).waitFor();
  await ines.getByText('Invent the child.').waitFor();
  await ines.getByText('You have no drafts yet.').waitFor();
  await ines.getByRole('button', { name: 'Begin the draft' }).click();
  assert.equal(await ines.evaluate(() => document.activeElement.id), 'id');
  await ines.fill('#id', 'pb-lark');
  await ines.fill('#code', 'Robin');
  await ines.fill('#age', 'seven');
  await ines.fill('#picture', 'Hums while she waits. Odd socks, on purpose.');
  await ines.fill('#setting', 'A gym on a quiet morning; bench, wall and stool are at hand.');
  await ines.getByRole('button', { name: 'Begin the draft' }).click();
  await ines.locator('#age-problem').waitFor();
  await ines.fill('#age', '7,5');
  await ines.getByRole('button', { name: 'Begin the draft' }).click();
  await ines.locator('#id-problem', { hasText: 'Choose another' }).waitFor();
  await ines.fill('#id', 'pb-robin');
  await ines.getByRole('button', { name: 'Begin the draft' }).click();
  await ines.waitForURL(`**${draft}`);
  await ines.getByText('No fault.').waitFor();
});

test('while one writes, every fault stands with its line, and every key with its reason', async () => {
  await ines.selectOption('#insert-item', '8');
  await ines.getByRole('button', { name: 'Begin it as timed' }).click();
  const fold = ines.locator('.checked details', { hasText: '8 One foot ahead' });
  await fold.locator('summary', { hasText: '8 One foot ahead' }).waitFor();
  await write(ines, shipped);
  await ines.getByText(/No fault\. \d+ of 56 points/).waitFor();

  // A key that does not follow: what follows, and the line to go to.
  const at = shipped.indexOf('key: "', shipped.indexOf('- item: "4"'));
  const wrong = shipped[at + 6] === '4' ? '3' : '4';
  await write(ines, shipped.slice(0, at + 6) + wrong + shipped.slice(at + 7));
  await ines.getByText('1 fault to mend.').waitFor();
  await ines.locator('.checked summary', { hasText: `stated as ${wrong}` }).waitFor();
  await shot(ines, 'workshop-fault');
  const line = shipped.slice(0, at).split('\n').length;
  await ines.locator('.faults').getByRole('button', { name: `Line ${line}` }).click();
  const picked = await ines.evaluate(() => {
    const area = /** @type {HTMLTextAreaElement} */ (document.activeElement);
    return area.value.slice(area.selectionStart, area.selectionEnd);
  });
  assert.equal(picked.trim(), `key: "${wrong}"`);
  // The text is typed on; one broken line leaves the other items with their keys.
  await write(ines, shipped.replace('share: ', 'shre: '));
  await ines.getByText(/did you mean `share`/).waitFor();
  assert.ok(await ines.locator('.checked details').count() === 14);

  // The performance of an item, as a rater will see it.
  await write(ines, shipped);
  const four = ines.locator('.checked details', { hasText: /^4 / });
  await four.locator('summary').first().click();
  await four.locator('.player-play, .performance').first().waitFor();
  if (await four.locator('.player-play').count()) {
    await four.locator('.player-play').first().click();
    await four.getByRole('button', { name: 'Break off' }).first().click();
  }
  await shot(ines, 'workshop-draft');
});

test('a draft is saved with every version, and offered to second readers when it has no fault', async () => {
  await write(ines, shipped.replace('share: ', 'shre: '));
  await ines.getByRole('button', { name: 'Save and ask second readers' }).click();
  await ines.getByText('Mend every fault before second readers').waitFor();
  await ines.getByRole('button', { name: 'Save the draft' }).click();
  await ines.getByText('Saved as version 2.', { exact: true }).waitFor();
  assert.match(await focused(ines), /^Saved as version 2/);
  await write(ines, shipped);
  await ines.getByRole('button', { name: 'Save and ask second readers' }).click();
  await ines.getByText('Saved, and offered to second readers.').waitFor();
  await ines.getByText('3 versions').click();
  await ines.getByRole('button', { name: /^Put it into the editor.*version 1$/ }).click();
  await until(ines, () => /** @type {any} */ (document.querySelector('#text')).value.includes('not written yet'));
  await ines.getByText('Not saved yet.').waitFor();
  await write(ines, shipped);
  assert.deepEqual(ines.faults, []);
});

test('a second reader scores it without its key, and hands in once', async () => {
  await lead.goto('/workshop');
  await lead.getByRole('link', { name: /Score it without its key/ }).click();
  await lead.waitForSelector('.levels');
  assert.equal(await lead.locator('h1').innerText().then(text => text.includes('pb-robin')), true);
  const sections = await lead.locator('section:has(.levels)').count();
  assert.ok(sections > 8);
  await lead.getByRole('button', { name: 'Hand in ...' }).click();
  await lead.getByText('Not scored yet:').waitFor();
  assert.match(await focused(lead), /^Item 1/);
  await lead.evaluate(() => document.querySelectorAll('section .levels').forEach(one => /** @type {any} */ (one.querySelector('input[value="3"]')).click()));
  await lead.locator('textarea').first().fill('Did the hand touch the bench?');
  await lead.locator('textarea').first().blur();
  // What was picked outlives a reload of the tab.
  await lead.reload();
  await lead.getByText(`${sections} of ${sections} items scored.`).waitFor();
  await shot(lead, 'second-reading');
  await lead.getByRole('button', { name: 'Hand in ...' }).click();
  assert.match(await focused(lead), /^Handed in, a reading stands/);
  await lead.getByRole('button', { name: 'Hand in', exact: true }).click();
  await lead.getByText('You handed this reading in').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('its author sees where readers and key part, and the lead publishes it after a look', async () => {
  await ines.goto(draft);
  await ines.getByRole('table', { name: 'Key and readers' }).waitFor();
  await ines.getByText(/part on \d+ items?: there it decides about nobody/).waitFor();
  await ines.getByText('Did the hand touch the bench?').waitFor();
  await ines.getByRole('button', { name: 'Preview' }).click();
  await ines.getByText('The lead of the department puts it into the library.').waitFor();
  await ines.getByText('For practice only.').waitFor();

  // The lead is asked before the key is seen.
  await lead.goto('/workshop');
  await lead.getByRole('button', { name: /^Open \.\.\./ }).click();
  await lead.getByText('You will see its key').waitFor();
  await lead.getByRole('button', { name: /^Open it with its key/ }).click();
  await lead.waitForURL(`**${draft}`);
  await lead.getByRole('button', { name: 'Preview' }).click();
  await lead.getByRole('heading', { name: 'What will decide' }).waitFor();
  assert.match(await focused(lead), /^What will decide/);
  await shot(lead, 'workshop-publish');
  await lead.getByRole('button', { name: 'Publish for practice only' }).click();
  await lead.locator('#why-problem').waitFor();
  await lead.fill('#why', 'For practice of holds');
  await lead.getByRole('button', { name: 'Publish for practice only' }).click();
  await lead.getByText('Published: it is in the library').waitFor();
  const listed = await lead.evaluate(() => fetch('/api/workshop').then(answer => answer.json()));
  assert.equal(listed.drafts[0].published, 'same');
  assert.deepEqual([...ines.faults, ...lead.faults], []);
});

test('an instructor finds which criteria are not confirmed, and a skills check says it on its first page', async () => {
  await lead.goto('/department/rulings');
  await lead.getByRole('heading', { name: 'Criteria not yet confirmed' }).waitFor();
  await lead.getByText('None of the 14 items has been held against the printed form yet.').waitFor();
  await lead.getByRole('table', { name: /^What the criteria/ }).waitFor();
  await shot(lead, 'criteria');
  const begun = await lead.evaluate(() => fetch('/api/sittings', { method: 'POST', headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ set: 'pb-demonstration' }) }).then(answer => answer.json()));
  await lead.goto(`/sitting/${begun.id}`);
  await lead.getByText('Criteria not confirmed yet').click();
  await lead.getByText('The criteria of all 14 items in this set have not been held against the printed form').waitFor();
});

for (const theme of ['light', 'dark'])
  for (const width of [1280, 320])
    test(`the workshop is clean for axe-core, ${theme}, ${width} px`, async () => {
      const page = await open(browser, site, { width, bypassCSP: true, colorScheme: theme });
      await signIn(page, 'second-instructor');
      await page.waitForSelector('.cards');
      for (const [name, where, there] of [['workshop', '/workshop', '#id'], ['workshop-draft', draft, '.checked details'], ['criteria', '/department/rulings', '#criteria']]) {
        await page.goto(where);
        await page.waitForSelector(there);
        if (name === 'workshop-draft') await page.locator('.checked summary').nth(3).click();
        await page.waitForLoadState('networkidle');
        assert.deepEqual(await axe(page), [], where);
        assert.deepEqual(await overlaps(page), [], where);
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${where} is wider than the page`);
        await shot(page, `${name}-${theme}-${width}`);
      }
      const reader = await open(browser, site, { width, bypassCSP: true, colorScheme: theme });
      await signIn(reader, 'first-instructor');
      await reader.waitForSelector('.cards');
      await reader.goto('/workshop/read/pb-wren-to-be');
      await reader.getByText('There is no such draft').waitFor();
      assert.deepEqual(await axe(reader), []);
      await page.context().close();
      await reader.context().close();
    });
