// Films and live children in a browser: added by a form, scored by a panel, practiced with on the pad; and a live pair.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { Site, passphrase } from './site.mjs';
import { axe, begin, fill, focused, join, launch, open, overlaps, save, shot, signIn, unfold, until } from './browser.mjs';

const library = fs.mkdtempSync(path.join(os.tmpdir(), 'evenhand-films-'));
let site, browser, lead, sitting;

before(async () => {
  fs.writeFileSync(path.join(library, 'film-reed.yaml'), `format: evenhand/case-1
id: film-reed
instrument: pediatric-balance
child: {code: Reed, age: 9, picture: Whistles when it gets hard.}
setting: The hall of a clinic.
share: moderate
external: {kind: film, find: "Cabinet A, film 2 of 2026", minutes: 4, consent: The parents agreed to teaching.}
items: ["4", "10"]
panel: {members: 3, agreement: {agreed: 6, of: 6}, key: {"4": "3"}}
`);
  fs.writeFileSync(path.join(library, 'films.yaml'),
    'format: evenhand/set-1\nid: films\ntitle: The department\'s films\nmode: practice\nentries: [{case: film-reed}]\n');
  site = await Site.start(['--invite', '--library', library]);
  await site.prepare();
  browser = await launch();
  lead = await open(browser, site);
  await signIn(lead, 'first-instructor');
  await lead.waitForSelector('.cards');
});
after(async () => {
  await browser?.close();
  await site?.stop();
  fs.rmSync(library, { recursive: true, force: true });
});

test('a film is added by a form that says what is missing at its field, and looks before it adds', async () => {
  await lead.goto('/external');
  await lead.getByRole('heading', { name: 'Add a film or a child' }).waitFor();
  await lead.locator('.card', { hasText: 'Key by a panel of 3.' }).waitFor();
  await lead.fill('#code', 'Brook');
  assert.equal(await lead.inputValue('#id'), 'film-brook');
  await lead.getByRole('button', { name: 'Preview' }).click();
  assert.match(await lead.locator('#age-problem').textContent(), /^Age: a number from 0 to 120/);
  await lead.fill('#age', '7.5');
  await lead.fill('#picture', 'Counts everything aloud.');
  await lead.fill('#setting', 'A gym with a bench.');
  await lead.fill('#find', 'https://films.example/4');
  await lead.fill('#minutes', '12');
  await lead.fill('#consent', 'The parents agreed to teaching within the department.');
  await lead.locator('#items input').evaluateAll(all => all.forEach(box => { if (!['4', '9'].includes(box.value)) box.click(); }));
  await lead.getByRole('button', { name: 'Preview' }).click();
  await lead.getByText('No links: say it in words').waitFor();
  assert.equal(await lead.evaluate(() => document.activeElement?.id), 'find');
  await lead.fill('#find', 'Cabinet B, film 4 of 2026');
  await lead.getByRole('button', { name: 'Preview' }).click();
  await lead.getByText('find: "Cabinet B, film 4 of 2026"').waitFor();
  await shot(lead, 'external-preview');
  await lead.getByRole('button', { name: 'Add it to the library' }).click();
  await lead.getByText('Brook is in the library. A panel scores it next.').waitFor();
  assert.match(await focused(lead), /^Brook/);
  assert.equal(await lead.inputValue('#code'), '');
  assert.deepEqual(lead.faults, []);
});

test('a member scores alone, keeps what was entered over a reload, and sees nothing of the others', async () => {
  const other = await site.invite('second-instructor');
  const given = await site.ask('POST', '/api/external/film-brook/readings', { scores: { 4: '3', 9: '1' } }, other);
  assert.equal(given.status, 201);
  await lead.reload();
  await lead.getByText('Scored so far by second-instructor.').waitFor();
  await lead.locator('.card', { hasText: 'Brook' }).getByRole('link', { name: /^Score it for the panel/ }).click();
  await lead.waitForSelector('.scoring');
  await lead.check('input[name="score-4"][value="3"]');
  await lead.reload();
  await lead.waitForSelector('.scoring');
  assert.equal(await lead.isChecked('input[name="score-4"][value="3"]'), true);
  await lead.getByRole('button', { name: 'Hand in' }).click();
  await lead.getByText('1 item is not scored yet:').waitFor();
  await shot(lead, 'external-score');
  await lead.check('input[name="score-9"][value="2"]');
  await lead.getByRole('button', { name: 'Hand in' }).click();
  await lead.getByRole('heading', { name: 'Handed in' }).waitFor();
  await lead.goto('/external/film-brook/score');
  await lead.getByText('Your scores are in.').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('whoever closes the panel sees how far it agrees, not the levels, and the key is in force after', async () => {
  await lead.goto('/external');
  const card = lead.locator('.card', { hasText: 'Brook' });
  await card.getByRole('button', { name: /^Close the panel \.\.\./ }).click();
  await card.getByText('They split on item 9: no key there.').waitFor();
  await card.getByText('2 of 4 times (50%)').waitFor();
  await shot(lead, 'external-closing');
  await card.getByRole('button', { name: 'Close the panel and put the key in force' }).click();
  await lead.getByText('The panel of Brook is closed, and its key is in force.').waitFor();
  await card.getByText('Key by a panel of 2.').waitFor();
  await card.getByText('The panel split on item 9').waitFor();
  assert.deepEqual(lead.faults, []);
});

test('a sitting shows where to watch, times by hand, and holds what was written down against the score', async () => {
  const student = await open(browser, site);
  await join(student, site, 'quiet-otter');
  sitting = await begin(student, 'The department\u2019s films'.replace('\u2019', '\''));
  await student.getByText('Cabinet A, film 2 of 2026').waitFor();
  await student.getByText('Watch the film as often as your department\'s rule says').waitFor();
  assert.equal(await student.locator('.player').count(), 0);
  await student.locator('input[name=timed][value="2"]').check();
  const press = student.locator('.watch-press');
  await press.click();
  await student.waitForTimeout(700);
  await student.check('input[name=score][value="2"]');
  await save(student);
  await student.locator('.problems').getByText('Your stopwatch still runs: stop it first.').waitFor();
  await press.click();
  const reading = await student.locator('.readings li').textContent();
  assert.match(reading, /^Trial 2: \d+\.\d\d s/);
  await student.check('input[name=which][value="2"]');
  assert.equal(await student.inputValue('#see-hold'), /: ([\d.]+) s/.exec(reading)[1], 'the watch fills the hold in');
  await fill(student, { facts: { hold: '31' }, score: '2' });
  await shot(student, 'external-sitting');
  await save(student);
  await student.getByRole('heading', { name: 'You differ from the key' }).waitFor();
  await student.getByText('All 3 members of a panel').waitFor();
  await student.getByText('What you wrote down gives level 4; you scored 2.').waitFor();
  assert.equal(await student.locator('.slip').count(), 0);
  await shot(student, 'external-reason');
  await student.getByRole('link', { name: 'Next item' }).click();
  await student.waitForSelector('.scoring');
  await student.check('input[name=which][value="1"]');
  await fill(student, { facts: { turn_left: '5', turn_right: '3' }, score: '3' });
  await save(student);
  await student.getByRole('heading', { name: 'This item has no key' }).waitFor();
  assert.deepEqual(student.faults, []);
});

test('two raters score a live child, each alone, and see where they differ when both have handed in', async () => {
  const pages = [];
  for (const who of ['pair-ann', 'pair-ben']) {
    const page = await open(browser, site);
    await join(page, site, who);
    pages.push(page);
  }
  const [ann, ben] = pages;
  const enter = async (page, partner, score, hold) => {
    await page.goto('/pair');
    await page.fill('#code', 'Mary Smith');
    await page.fill('#partner', partner);
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.getByText('never the child\u2019s name').last().waitFor();
    await page.fill('#code', 'reed-7');
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.getByText('nothing is scored').waitFor();
    await page.check('#consent');
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.waitForSelector('.scoring');
    await page.getByRole('link', { name: /^Item 4 / }).click();
    await page.getByRole('heading', { name: 'Item 4' }).waitFor();
    await page.check('input[name=which][value="1"]');
    await fill(page, { facts: { hold }, score });
    await shot(page, `pair-scoring-${partner}`);
    await save(page);
    await page.getByText('1 of 14 scored').waitFor();
    // A closed page loses nothing.
    await page.reload();
    await page.getByText('1 of 14 scored').waitFor();
    await page.getByRole('button', { name: 'Hand in what there is ...' }).click();
    await page.getByText('Not scored: items 1, 2, 3').waitFor();
    await page.getByRole('button', { name: 'Hand in', exact: true }).click();
    await page.getByRole('heading', { name: /^reed-7/ }).waitFor();
  };
  await enter(ann, 'pair-ben', '4', '32');
  await ann.getByText('pair-ben has not handed in yet').waitFor();
  await enter(ben, 'pair-ann', '2', '31');
  await ben.getByText('You both gave a level to 1 item: the same to 0, and within one level to 0.').waitFor();
  await ben.getByText('2 levels lower than pair-ann').waitFor();
  await ben.getByText('What was written down gives 4.').waitFor();
  await shot(ben, 'pair-compared');
  await ann.goto('/pair');
  await ann.getByRole('link', { name: /^See where you differ/ }).click();
  await ann.getByText('2 levels higher than pair-ben').waitFor();
  // A third who names one of them sees nothing.
  const cid = await site.ask('POST', '/api/join', { code: site.code, rater: 'pair-cid', passphrase });
  const day = await ann.evaluate(() => location.hash.slice(-10));
  const asked = await site.ask('GET', `/api/pairs/pair-reed-7-${day}`, null, cid.cookie);
  assert.equal(asked.status, 404);
  assert.deepEqual([...ann.faults, ...ben.faults], []);
});

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 320]]) {
  test(`axe-core finds nothing on these pages, ${scheme}, ${width} px wide, nothing scrolls sideways or lies on another`, async () => {
    const page = await open(browser, site, { width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
    const found = [];
    const look = async (name, there) => {
      await page.waitForSelector(there);
      await unfold(page);
      await until(page, () => !document.querySelector('.wait, [aria-busy]'));
      found.push(...(await overlaps(page)).map(one => `${name}: ${one}`));
      found.push(...(await axe(page)).map(one => `${name}: ${one}`));
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      if (over > 0) found.push(`${name}: ${over} px too wide`);
      await shot(page, `external-${name}-${scheme}-${width}`);
    };
    await signIn(page, 'first-instructor');
    await page.waitForSelector('.cards');
    await page.goto('/external');
    await look('list', '.card');
    const name = `film-${scheme}-${width}`;
    await page.evaluate(async id => {
      const film = { id, instrument: 'pediatric-balance', kind: 'live', code: id, age: 8, picture: 'P.', setting: 'S.', share: 'mild', find: 'Gym 2, Tuesday at ten', minutes: 40, consent: 'Given.', items: ['1', '13'] };
      const send = (method, where, body) => fetch(where, { method, headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) }).then(answer => answer.json());
      const seen = await send('POST', '/api/external/preview', film);
      await send('PUT', '/api/external', { ...film, confirm: seen.confirm });
    }, name);
    await page.goto(`/external/${name}/score`);
    await look('score', '.scoring');
    await page.goto('/pair');
    await look('pair', '#code');
    await page.context().clearCookies();
    await signIn(page, 'pair-ben');
    await page.waitForSelector('.cards');
    await page.goto('/pair');
    await page.getByRole('link', { name: /^See where you differ/ }).click();
    await look('compared', '.records');
    await page.goto('/pair');
    await page.evaluate(() => localStorage.setItem('evenhand-pair-pair-ben', JSON.stringify({ setup: { code: 'fern', date: '2026-09-01', instrument: 'pediatric-balance', partner: 'pair-ann' }, answers: {} })));
    await page.reload();
    await look('pairing', '.scoring');
    await page.context().clearCookies();
    await signIn(page, 'quiet-otter');
    await page.waitForSelector('.cards');
    await page.goto(sitting);
    await look('sitting', '.reason');
    assert.deepEqual(found, []);
    await page.context().close();
  });
}
