// What the authors of a round's report say themselves; a rater from paper who takes the own scores over; the list of the
// department's pages.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { axe, focused, open, shot, signIn, until, withSite } from './browser.mjs';

let site, browser, lead, round;

/** Asks the site as the page's rater. */
const ask = (page, method, path, body) => page.evaluate(async ([how, where, what]) => {
  const answer = await fetch(where, { method: how, ...(what ? { headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(what) } : {}) });
  return { status: answer.status, body: await answer.json().catch(() => null) };
}, [method, path, body]);

withSite(async given => {
  ({ site, browser } = given);
  lead = await open(browser, site, { bypassCSP: true });
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
  const made = await ask(lead, 'POST', '/api/rounds', { title: 'Fall round', set: 'pb-round-demonstration' });
  assert.equal(made.status, 201);
  round = made.body.id;
});

test('scores from paper make a rater known, whom nobody can join as', async () => {
  const items = ['1', '2', '3', '6', '7', '8', '9', '10'];
  const cells = ['pb-hare', 'pb-mole', 'pb-newt', 'pb-seal', 'pb-crow', 'pb-deer'].flatMap(of => items.map(item => [of, item]));
  const text = 'rater,round,case,item,score\n' + ['paper-rater', 'other-paper'].flatMap((rater, n) =>
    cells.map(([of, item]) => `${rater},${round},${of},${item},${n + 2}`)).join('\n') + '\n';
  const looked = await ask(lead, 'POST', '/api/imports/preview', { name: 'paper.csv', text });
  assert.equal(looked.status, 200, JSON.stringify(looked.body));
  const taken = await ask(lead, 'POST', '/api/imports', { name: 'paper.csv', text, confirm: looked.body.confirm });
  assert.equal(taken.status, 201, JSON.stringify(taken.body));
  const page = await open(browser, site);
  await page.goto('/join');
  await page.fill('#code', site.code);
  await page.fill('#rater', 'paper-rater');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.getByText('If it is yours, from paper, your instructor can make you a link').first().waitFor();
  await page.context().close();
});

test('words for the report are written while the round is open, and the empty points are counted', async () => {
  await lead.goto(`/department/rounds/${round}`);
  await lead.getByText('None of the 11 points has words yet').waitFor();
  await lead.locator('summary', { hasText: 'Write or change them' }).click();
  await lead.fill('#population', 'Children of the day clinic,\nfour to twelve years old');
  await lead.getByRole('button', { name: 'Save for the report' }).click();
  await until(lead, () => /^Saved\./.test(document.activeElement?.textContent ?? ''));
  await lead.getByText('1 of 11 points have words').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('the report of the closed round holds them; a change keeps the earlier version, after the lock too', async () => {
  assert.equal((await ask(lead, 'POST', `/api/rounds/${round}/close`, {})).status, 200);
  assert.equal((await ask(lead, 'POST', `/api/rounds/${round}/lock`, {})).status, 200);
  await lead.goto(`/department/rounds/${round}`);
  await lead.getByRole('link', { name: 'write it at the end of this page' }).waitFor();
  const report = await lead.evaluate(id => fetch(`/api/rounds/${id}/report`).then(answer => answer.text()), round);
  assert.match(report, /Children of the day clinic,<br>four to twelve years old/);
  assert.match(report, /Empty: to be written \(sampling\)/);
  await lead.locator('summary', { hasText: 'Write or change them' }).click();
  await lead.getByText('The round is locked: its scores and its result stay as they are.').waitFor();
  await lead.fill('#population', 'Children of the day clinic');
  await lead.fill('#sampling', 'Every child of one week');
  await lead.getByRole('button', { name: 'Save for the report' }).click();
  await lead.getByText('2 of 11 points have words').waitFor();
  await lead.locator('summary', { hasText: 'Write or change them' }).click();
  await lead.locator('summary', { hasText: '1 earlier version' }).click();
  await lead.getByText('four to twelve years old').waitFor();
  await shot(lead, 'round-words');
  const filed = await lead.evaluate(id => fetch(`/api/rounds/${id}/report`).then(answer => answer.text()), round);
  assert.match(filed, /Changed \d{4}-\d\d-\d\d by first-instructor, after the round was locked \(\d{4}-\d\d-\d\d\)\./);
  assert.match(filed, /Every child of one week<br><i>Written \d{4}-\d\d-\d\d by first-instructor, after the round was locked/);
});

test('a rater from paper takes the own scores over by a link, once', async () => {
  await lead.goto('/groups');
  const card = lead.locator('.card').first();
  await card.locator('summary', { hasText: 'Known from paper' }).click();
  await card.getByRole('button', { name: 'Make a link ... for paper-rater' }).click();
  assert.match(await focused(lead), /^Whoever has the link signs in as paper-rater/);
  await card.getByRole('button', { name: 'Make a link for paper-rater', exact: true }).click();
  const link = await card.locator('a.claim').getAttribute('href');
  assert.match(link, /\/claim#paper-rater\/[0-9A-Z]{8}$/);
  await shot(lead, 'groups-claim');

  const page = await open(browser, site, { bypassCSP: true });
  await page.goto(link);
  await until(page, () => /** @type {any} */ (document.querySelector('#rater')).value === 'paper-rater');
  assert.equal(new URL(page.url()).hash, '', 'the code does not stay in the address');
  assert.deepEqual(await axe(page), []);
  await shot(page, 'claim');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.waitForSelector('.cards');
  const mine = await ask(page, 'GET', '/api/my-data');
  assert.ok(mine.body.imported_scores.length > 0);
  assert.deepEqual(page.faults, []);
  const again = await open(browser, site);
  await again.goto(link);
  await again.fill('#passphrase', passphrase);
  await again.click('button[type=submit]');
  await again.getByText('used already').first().waitFor();
  await page.context().close();
  await again.context().close();
});

for (const [name, options] of Object.entries({ wide: {}, dark: { colorScheme: 'dark' }, narrow: { width: 320 }, 'narrow-dark': { width: 320, colorScheme: 'dark' } })) {
  test(`the form of the words, the links and the list of pages are clean for axe, ${name}`, async () => {
    const page = await open(browser, site, { bypassCSP: true, ...options });
    await signIn(page, 'first-instructor');
    await page.waitForSelector('.cards');
    await page.goto(`/department/rounds/${round}`);
    await page.locator('summary', { hasText: 'Write or change them' }).click();
    assert.deepEqual(await axe(page), []);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth), false, 'no scrolling sideways');
    await page.locator('#own-words').scrollIntoViewIfNeeded();
    await shot(page, `round-words-${name}`);
    await page.goto('/groups');
    await page.locator('summary', { hasText: 'Known from paper' }).first().click();
    await page.getByRole('button', { name: /Make a link/ }).first().waitFor();
    assert.deepEqual(await axe(page), []);
    await page.goto('/department');
    await page.waitForSelector('.tabs');
    // What is asked for every year is seen without a click; the rest is one click away at most.
    const seen = await page.locator('nav[aria-label=Department] .tabs a').allTextContents();
    assert.deepEqual(seen, ['Rounds and reports', 'Standard', 'Rulings']);
    for (const link of await page.locator('.tabs a').all()) assert.ok((await link.boundingBox()).height >= 44);
    assert.equal(await page.getByRole('link', { name: 'Planning' }).isVisible(), !name.startsWith('narrow'));
    if (name.startsWith('narrow')) {
      await page.locator('nav[aria-label=Department] summary').click();
      await page.getByRole('link', { name: 'Planning' }).waitFor();
    }
    assert.deepEqual(await axe(page), []);
    await shot(page, `department-nav-${name}`);
    await page.context().close();
  });
}

test('on a page that is folded away on a phone the fold is open', async () => {
  const page = await open(browser, site, { width: 360 });
  await signIn(page, 'first-instructor');
  await page.waitForSelector('.cards');
  await page.goto('/department/planning');
  await page.locator('nav[aria-label=Department] a[aria-current=page]', { hasText: 'Planning' }).waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
