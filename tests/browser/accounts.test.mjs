// Signing in and its limit, a forgotten passphrase, sessions, one's own data.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { begin, fill, join, open, save, shot, signIn, until, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

test('a page that needs an account leads to signing in, and back', async () => {
  const page = await open(browser, site);
  await join(page, site, 'quiet-otter');
  await page.context().clearCookies();
  await page.goto('/progress');
  assert.equal(new URL(page.url()).pathname, '/sign-in');
  await page.fill('#rater', 'quiet-otter');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.waitForURL('**/progress');
  // Never to another site.
  await page.context().clearCookies();
  await page.goto('/sign-in?next=//elsewhere.example/');
  await page.fill('#rater', 'quiet-otter');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.waitForSelector('.cards');
  assert.equal(new URL(page.url()).origin, site.base);
  await page.context().close();
});

test('faults of a form are said beside the field and in a summary that takes the focus', async () => {
  const page = await open(browser, site);
  await page.goto('/join');
  await page.click('button[type=submit]');
  await page.waitForSelector('#problems:not([hidden])');
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'problems');
  assert.equal(await page.locator('#problems li').count(), 3);
  const described = await page.getAttribute('#code', 'aria-describedby');
  assert.ok(described?.includes('code-problem'));
  assert.equal(await page.getAttribute('#code', 'aria-invalid'), 'true');
  await page.locator('#problems a').first().click();
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'code');
  await page.fill('#code', 'AAAA-AAAA');
  await page.fill('#rater', 'odd-otter');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.locator('#problems', { hasText: /code/i }).waitFor();
  await shot(page, 'join-problem-wide');
  await page.context().close();
});

test('after too many wrong passphrases the page says to wait', async () => {
  const page = await open(browser, site);
  await page.goto('/sign-in');
  let says = '';
  for (let i = 0; i < 14; ++i) {
    await page.fill('#rater', 'quiet-otter');
    await page.fill('#passphrase', `wrong words ${i}`);
    const answered = page.waitForResponse('**/api/sign-in');
    await page.click('button[type=submit]');
    const status = (await answered).status();
    await page.waitForSelector('#problems:not([hidden])');
    says = await page.locator('#problems').textContent() ?? '';
    if (status === 429) break;
    assert.equal(status, 401);
  }
  assert.match(says, /again in \d+ second|wait|minute/i);
  await shot(page, 'sign-in-limit-wide');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('a forgotten passphrase is replaced with a code from the instructor, which works once', async () => {
  const student = await open(browser, site);
  await join(student, site, 'tall-heron');
  const instructor = await open(browser, site);
  await signIn(instructor, 'first-instructor');
  await instructor.waitForSelector('.cards');
  await instructor.goto('/groups');
  await instructor.locator('summary', { hasText: 'Members' }).click();
  await instructor.getByRole('button', { name: 'Renew ... the passphrase of tall-heron' }).click();
  await instructor.getByRole('button', { name: 'Make a code' }).click();
  const code = await instructor.locator('details .code').textContent();
  await shot(instructor, 'groups-reset-wide');
  await student.context().clearCookies();
  for (const [words, works] of [['another lamp downhill', true], ['a third lamp downhill', false]]) {
    await student.goto('/reset');
    await student.fill('#code', code);
    await student.fill('#rater', 'tall-heron');
    await student.fill('#passphrase', words);
    await student.click('button[type=submit]');
    if (works) await student.waitForURL(address => address.pathname === '/');
    else await student.waitForSelector('#problems:not([hidden])');
  }
  await student.context().clearCookies();
  await signIn(student, 'tall-heron', 'another lamp downhill');
  await student.waitForSelector('.cards');
  await student.context().close();
  await instructor.context().close();
});

test('sessions are listed and ended, data are downloaded and erased', async () => {
  const page = await open(browser, site);
  await join(page, site, 'grey-seal');
  await begin(page, 'First steps');
  await fill(page, { score: '4' });
  await save(page);
  await page.waitForSelector('.reason');
  const other = await open(browser, site);
  await signIn(other, 'grey-seal');
  await other.waitForSelector('.cards');

  await page.goto('/account');
  await page.waitForSelector('table');
  assert.equal(await page.locator('tbody tr').count(), 2);
  await page.getByRole('button', { name: 'End this session' }).click();
  await until(page, () => document.querySelectorAll('tbody tr').length === 1);
  await other.goto('/progress');
  assert.equal(new URL(other.url()).pathname, '/sign-in', 'the other session is over');

  const waiting = page.waitForEvent('download');
  await page.getByRole('link', { name: 'Download my data' }).click();
  const data = JSON.parse(fs.readFileSync(await (await waiting).path(), 'utf8'));
  assert.match(JSON.stringify(data), /pb-lark/);

  await page.fill('#old', passphrase);
  await page.fill('#new', 'yet another lamp');
  await page.getByRole('button', { name: 'Change the passphrase' }).click();
  await page.locator('.notice', { hasText: 'The passphrase is changed.' }).waitFor();

  await page.fill('#confirm', 'yet another lamp');
  await page.getByRole('button', { name: 'Erase', exact: true }).click();
  await page.locator('.notice', { hasText: 'Tick the box' }).waitFor();
  await page.getByLabel(/Erase my account/).check();
  await page.getByRole('button', { name: 'Erase', exact: true }).click();
  await page.waitForURL(address => address.pathname === '/');
  await signIn(page, 'grey-seal', 'yet another lamp');
  await page.waitForSelector('#problems:not([hidden])');
  const kept = await page.evaluate(async () => (await indexedDB.databases()).map(one => one.name));
  assert.ok(!kept.includes('evenhand-grey-seal'), 'nothing stays on the device');
  assert.deepEqual(page.faults, []);
  await page.context().close();
  await other.context().close();
});

test('an instructor closes a group and opens it with another code', async () => {
  const page = await open(browser, site);
  await signIn(page, 'first-instructor');
  await page.waitForSelector('.cards');
  await page.goto('/groups');
  const before = await page.locator('.code').first().textContent();
  await page.getByRole('button', { name: /^Stop joining \.\.\./ }).click();
  await page.getByRole('button', { name: /^Stop joining Browser class/ }).click();
  await page.locator('.card', { hasText: 'Nobody can join now' }).waitFor();
  await page.getByRole('button', { name: /^Let students join/ }).click();
  await page.locator('.code').first().waitFor();
  assert.notEqual(await page.locator('.code').first().textContent(), before);
  await page.context().close();
});

test('a student finds no page of instructors, and nobody another\'s sitting', async () => {
  const page = await open(browser, site);
  await signIn(page, 'tall-heron', 'another lamp downhill');
  await page.waitForSelector('.cards');
  assert.equal((await page.goto('/groups')).status(), 404);
  await page.locator('h1', { hasText: 'Nothing here' }).waitFor();
  await page.goto('/sitting/AAAAAAAAAAAAAAAAAAAAAA');
  await page.locator('h1', { hasText: 'No such sitting' }).waitFor();
  await page.context().close();
});
