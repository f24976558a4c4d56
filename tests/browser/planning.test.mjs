// Planning the next round, and reports as files, in a browser.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { test } from 'node:test';
import { root } from './site.mjs';
import { axe, focused, open, shot, signIn, withSite } from './browser.mjs';

const program = process.env.EVENHAND ?? path.join(root, 'build/debug/evenhand');
let site, browser, lead, round;

const post = (where, body) => lead.evaluate(([to, what]) => fetch(to, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(what) })
  .then(async answer => ({ status: answer.status, body: await answer.json() })), [where, body]);

withSite(async given => {
  ({ site, browser } = given);
  // What axe-core runs needs the policy out of the way; the policy is tried by the last test.
  lead = await open(browser, site, { acceptDownloads: true, bypassCSP: true });
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
});

test('before any round the page says that nothing is measured; a fault is said at its field', async () => {
  await lead.goto('/department/planning');
  await lead.getByText('No round has closed yet, so nothing is measured.').waitFor();
  await lead.fill('#half', 'wide');
  await lead.getByRole('button', { name: 'Work it out' }).click();
  await lead.locator('#half-problem').waitFor();
  assert.equal(await lead.getAttribute('#half', 'aria-invalid'), 'true');
  assert.equal(await lead.evaluate(() => document.activeElement?.id), 'half');
  assert.equal(await lead.getByRole('heading', { name: 'What it takes' }).count(), 0);
});

test('after a round the start is its own, and each question has its answer, table and cautions', async () => {
  const opened = await post('/api/rounds', { title: 'Fall round', set: 'pb-round-demonstration', groups: [] });
  assert.equal(opened.status, 201);
  round = opened.body.id;
  const scores = path.join(site.folder, 'scores.csv');
  execFileSync(program, ['simulate', '--set', 'pb-round-demonstration', '--raters', '9', '--seed', '3', '--round', round, '--quiet', '--out', scores]);
  execFileSync(program, ['import', scores, '--store', path.join(site.folder, 'site.db'), '--quiet']);
  assert.equal((await post(`/api/rounds/${round}/close`, {})).status, 200);

  await lead.goto('/department/planning');
  await lead.getByText('Starting values come from your last closed round, "Fall round": 9 raters').waitFor();
  for (const [want, heading] of [['icc', /^You need|are too few/], ['mdc', /^You need|are too few/], ['ready', /^Plan \d+ cases|^Even by the last look/]]) {
    await lead.selectOption('#want', want);
    if (want === 'mdc') await lead.fill('#half', '2');
    if (want === 'icc') await lead.fill('#half', '0.15');
    await lead.getByRole('button', { name: 'Work it out' }).click();
    await lead.getByRole('heading', { name: 'What it takes' }).waitFor({ timeout: 60000 });
    assert.match(await focused(lead), /^What it takes/);
    assert.match(await lead.locator('.lead').last().innerText(), heading);
    assert.ok(await lead.getByRole('heading', { name: 'What to mind' }).count() === 1);
    assert.ok(await lead.locator('table').count() === 1);
    const text = await lead.locator('main').innerText();
    assert.doesNotMatch(text, /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}|NaN|undefined|null/);
    for (const scheme of ['light', 'dark'])
      for (const width of [1280, 320]) {
        await lead.emulateMedia({ colorScheme: scheme });
        await lead.setViewportSize({ width, height: 900 });
        assert.deepEqual(await axe(lead), [], `${want}, ${scheme}, ${width}`);
        if (scheme === 'light' || want === 'icc') await shot(lead, `planning-${want}-${scheme}-${width}`);
        assert.ok(await lead.evaluate(() => document.documentElement.scrollWidth <= document.documentElement.clientWidth), `${want} at ${width}`);
      }
    await lead.emulateMedia({ colorScheme: 'light' });
    await lead.setViewportSize({ width: 1280, height: 900 });
  }
  assert.deepEqual(lead.faults, []);
});

test('the report of a round is saved as a file in each form, with a name; what cannot be is said on the page', async () => {
  await lead.context().close();
  lead = await open(browser, site, { acceptDownloads: true });
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
  await lead.goto('/department/planning');
  await lead.selectOption('#want', 'ready');
  await lead.getByRole('button', { name: 'Work it out' }).click();
  await lead.getByRole('heading', { name: 'What it takes' }).waitFor({ timeout: 60000 });
  await lead.goto(`/department/rounds/${round}`);
  for (const [name, file] of [['HTML Report', /^calibration-fall-round-[\d-]+\.html$/], ['XLSX Report', /\.xlsx$/], ['JSON Report', /\.json$/], ['HTML Agenda of the meeting', /^agenda-fall-round-[\d-]+\.html$/]]) {
    const [saved] = await Promise.all([lead.waitForEvent('download'), lead.getByRole('button', { name, exact: true }).click()]);
    assert.match(saved.suggestedFilename(), file);
    await lead.getByText(`Saved as ${saved.suggestedFilename()}`).waitFor();
    assert.ok(fs.statSync(await saved.path()).size > 3000);
  }
  // With WeasyPrint a PDF; without it a sentence.
  const status = lead.locator('.files [role=status]').first();
  await lead.getByRole('button', { name: 'PDF Report', exact: true }).click();
  await status.filter({ hasText: /Saved as .*\.pdf|no program that makes PDFs/ }).waitFor({ timeout: 90000 });
  await shot(lead, 'round-files');
  assert.deepEqual(lead.faults, []);
});
