// A skills check: nothing is told before everything is handed in.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { answerRest, begin, fill, join, open, save, shot, until, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

test('a skills check shows no reason until it is handed in, takes changes until then, and none after', async () => {
  const page = await open(browser, site);
  const told = [];
  page.on('response', async response => {
    const url = new URL(response.url());
    if (!url.pathname.startsWith('/api/sittings/')) return;
    const text = await response.text().catch(() => '');
    told.push([url.pathname, text]);
  });
  await join(page, site, 'calm-otter');
  const sitting = await begin(page, 'Demonstration of a skills check');
  assert.match(await page.locator('.where').textContent(), /skills check/);
  await fill(page, { trial: 1, score: '2' });
  await save(page);
  await until(page, () => document.title.includes('item 2 of 7'));
  assert.equal(await page.locator('.reason').count(), 0);
  assert.equal((await page.evaluate(async where => (await fetch(where)).status, `/api${sitting.replace('sitting', 'sittings')}/feedback/pb-heron/1`)), 409);

  // Back to the first, and another score.
  await page.locator('.items li').first().locator('a').click();
  await until(page, () => document.title.includes('item 1 of 7'));
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '2');
  await page.check('input[name=score][value="3"]');
  await save(page);
  // The change is sent in the background: the page said "saved" of the answer before, too.
  const stored = () => page.evaluate(async where => (await (await fetch(where)).json()).answers, `/api${sitting.replace('sitting', 'sittings')}`);
  let answers = await stored();
  for (let tries = 0; tries < 50 && answers[0].revision < 2; ++tries) {
    await new Promise(resolve => setTimeout(resolve, 100));
    answers = await stored();
  }
  assert.deepEqual(answers.map(one => [one.item, one.value, one.revision]), [['1', '3', 2]]);
  assert.equal(told.filter(([where]) => where.includes('/answers/')).length, 2, 'both answers were heard');
  assert.ok(told.some(([where]) => where.includes('/cases/')));
  for (const [where, text] of told) {
    assert.doesNotMatch(text, /"(key|agrees|slips|reason|observed|deciding_trial)":[^nu]/, where);
    if (where.includes('/answers/')) assert.match(text, /"feedback":null/);
  }

  await page.getByRole('button', { name: 'Review and hand in' }).click();
  await page.locator('h1', { hasText: 'Hand in' }).waitFor();
  assert.match(await page.locator('.lead').textContent(), /111 items are still open/);
  assert.equal(await page.locator('.open-items li').count(), 6, 'what is open of this child');
  assert.match(await page.locator('.later').textContent(), /105 items of children that come later/);
  assert.equal(await page.getByRole('button', { name: 'Hand in', exact: true }).count(), 0);
  await shot(page, 'hand-in-open-wide');
  assert.equal(await answerRest(page, sitting), 111);
  await page.reload();
  await page.waitForSelector('.scoring');
  await page.getByRole('button', { name: 'Hand in', exact: true }).click();
  await page.locator('h1', { hasText: 'Hand in' }).waitFor();
  await page.getByRole('button', { name: 'Hand in', exact: true }).click();
  await page.waitForURL('**/summary');
  await page.waitForSelector('.figures');
  assert.match(await page.locator('main').textContent(), /decides about nobody/);
  await page.getByRole('link', { name: 'Reason of case 1, item 1', exact: true }).click();
  await page.waitForSelector('.reason');
  assert.equal(await page.locator('.scoring').count(), 0, 'nothing can be changed');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
