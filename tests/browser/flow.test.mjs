// From the first start of the program to a student's learning curve.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Site, passphrase } from './site.mjs';
import { begin, fill, join, launch, open, save, shot, slips, time, toItem, until } from './browser.mjs';

let site, browser, student, sitting;

before(async () => {
  site = await Site.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await site?.stop();
});

test('the printed link makes the first instructor, once', async () => {
  const page = await open(browser, site);
  await page.goto(site.setup);
  assert.equal(new URL(page.url()).hash, '', 'the token leaves the address');
  await page.fill('#rater', 'first-instructor');
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.waitForURL('**/groups');
  await page.fill('#title', 'Browser class');
  await page.getByRole('button', { name: 'Create the group' }).click();
  const code = (await page.locator('.code').first().textContent()).replaceAll('-', '');
  assert.match(code, /^[0-9A-HJKMNP-TV-Z]{8}$/, 'eight characters of Crockford base 32');
  site.code = code;
  await shot(page, 'groups-wide');
  assert.deepEqual(page.faults, []);

  const again = await open(browser, site);
  await again.goto(site.setup);
  await again.fill('#rater', 'second-instructor');
  await again.fill('#passphrase', passphrase);
  await again.click('button[type=submit]');
  await again.waitForSelector('#problems:not([hidden])');
  assert.equal(await again.evaluate(() => document.activeElement?.id), 'problems', 'the summary of errors takes the focus');
  await page.context().close();
  await again.context().close();
});

test('a newcomer reaches the first timed trial in under a minute', async () => {
  student = await open(browser, site);
  const began = Date.now();
  let clicks = 0;
  // A person types about four characters a second.
  const type = (selector, text) => student.locator(selector).pressSequentially(text, { delay: 250 });
  const click = async selector => {
    clicks += 1;
    await student.click(selector);
  };
  await student.goto('/');
  await click('main a[href="/join"]');
  await type('#code', site.code);
  await type('#rater', 'quiet-otter');
  await type('#passphrase', passphrase);
  await click('button[type=submit]');
  await click('.card.go button');
  await student.waitForSelector('.scoring');
  sitting = new URL(student.url()).pathname;
  // The first timed trial of the set is the third item: a person may go straight there.
  await click('.items li:nth-child(3) a');
  await student.locator('.player-play').first().waitFor();
  await click('.player-play');
  await student.locator('.watch-press:enabled').waitFor();
  const seconds = (Date.now() - began) / 1000;
  console.log(`# to the first timed trial: ${clicks} clicks, ${seconds.toFixed(1)} s with typing at four characters a second`);
  assert.ok(seconds < 60, `${seconds} s`);
  await shot(student, 'sitting-timed-wide');
  await student.locator('.player-play').first().click(); // Stop
});

test('where one is, is said in the page and in its title', async () => {
  await toItem(student, sitting, 'pb-lark/1');
  assert.equal(await student.locator('.place').textContent(), 'Case 1 of 3 - item 1 of 4');
  assert.match(await student.title(), /Rising to stand, item 1 of 4, case 1 of 3/);
  assert.equal(await student.locator('.meter').textContent(), '0 of 10 scored');
});

test('a written item: seen as it was and scored one level off is a rule read wrong', async () => {
  await fill(student, { score: '3' });
  await shot(student, 'sitting-written-wide');
  await save(student);
  assert.deepEqual(await slips(student), ['read-the-rule-wrong']);
  assert.equal(await student.locator('#reason-title').textContent(), 'You differ from the key');
  assert.equal(await student.evaluate(() => document.activeElement?.id), 'reason-title');
  assert.equal(await student.locator('.pair dd').nth(1).textContent(), '4');
  // The cure asks to read two levels side by side: they are there.
  const levels = student.locator('.reason details', { hasText: 'The levels of this item' });
  assert.deepEqual(await levels.locator('dt').allTextContents(), ['Level 4 key', 'Level 3 yours', 'Level 2', 'Level 1', 'Level 0']);
  assert.match(await levels.locator('dd').nth(1).textContent(), /pushing with the hands/);
  await shot(student, 'reason-wide');
});

test('a closed item shows its reason again and takes no other answer', async () => {
  await student.reload();
  await student.waitForSelector('.reason');
  assert.equal(await student.locator('.scoring').count(), 0);
});

test('a written item whose facts were seen otherwise, and which the criteria leave open: both are named', async () => {
  await student.getByRole('link', { name: 'Next item' }).click();
  await student.waitForSelector('.scoring');
  await fill(student, { facts: { sit_hands: 'before' }, score: '3' });
  await save(student);
  // The palms drop to the bench when it already bears the child: no use of the hands, by a ruling.
  assert.deepEqual(await slips(student), ['saw-it-wrong', 'gray-zone']);
  assert.match(await student.locator('.reason').textContent(), /Gray zone/);
  await shot(student, 'reason-gray-wide');
});

test('a timed item: the reading of the watch goes into the form, and both watches stand on the strip', async () => {
  await student.getByRole('link', { name: 'Next item' }).click();
  await student.waitForSelector('.player-play');
  await time(student, 0, 3.2, 14.8);
  const typed = Number(await student.inputValue('#see-hold'));
  assert.ok(Math.abs(typed - 11.6) < 0.5, `the watch shows ${typed} s of 11.6`);
  await fill(student, { score: '4' });
  await save(student);
  assert.deepEqual(await slips(student), []);
  assert.equal(await student.locator('#reason-title').textContent(), 'You agree with the key');
  assert.equal(await student.locator('.strip .strip-true').count(), 1);
  assert.equal(await student.locator('.strip .strip-yours').count(), 1);
  const row = await student.locator('.reason table').first().locator('tbody tr').first().textContent();
  assert.ok(row.includes(`${typed.toFixed(2)} s`) && row.includes('11.6 s'), row);
  await shot(student, 'reason-timed-wide');
});

test('one key works one watch, and what is broken off counts for nothing', async () => {
  await student.getByRole('link', { name: 'Next item' }).click();
  await until(student, () => document.title.includes('item 4 of 4'));
  const faces = () => student.locator('.watch-face').allTextContents();
  await student.locator('.player-play').first().click();
  await student.locator('.watch-press:enabled').first().waitFor();
  await student.locator('h1').click();
  await student.keyboard.press('Space');
  await student.locator('.player-note', { hasText: 'The trial is over.' }).waitFor();
  assert.notEqual((await faces())[0], '0.00', 'the first watch still runs');
  await student.locator('.player-play').nth(1).click();
  await student.locator('.watch-press:enabled').waitFor();
  await student.locator('h1').click();
  await student.keyboard.press('Space');
  await until(student, () => document.querySelectorAll('.watch-face')[1].textContent !== '0.00');
  const [first, second] = await faces();
  assert.equal(first, '0.00', 'a trial that begins takes the other watch back to zero');
  assert.notEqual(second, '0.00');
  await student.keyboard.press('Space');
  await until(student, () => /** @type {HTMLInputElement} */ (document.querySelector('#see-hold')).value !== '');

  await fill(student, { trial: 2, score: '4' });
  await save(student);
  await student.locator('.problems', { hasText: 'Trial 2 still plays' }).waitFor();
  await student.getByRole('button', { name: 'Break off' }).click();
  await student.locator('.player-note', { hasText: 'Broken off' }).waitFor();
  assert.equal(await student.inputValue('#see-hold'), '', 'the reading of a broken trial is gone');

  // Leaving the item in the middle of a trial is breaking it off.
  await student.locator('.player-play').nth(1).click();
  await student.locator('.watch-press:enabled').waitFor();
  await student.locator('h1').click();
  await student.keyboard.press('Space');
  await until(student, () => document.querySelectorAll('.watch-face')[1].textContent !== '0.00');
  await student.keyboard.press('Space');
  await until(student, () => /** @type {HTMLInputElement} */ (document.querySelector('#see-hold')).value !== '');
  await student.locator('.items a').first().click();
  await until(student, () => document.title.includes('item 1 of 4'));
  await student.locator('.items a').nth(3).click();
  await until(student, () => document.title.includes('item 4 of 4'));
  await student.waitForSelector('#see-hold');
  assert.equal(await student.inputValue('#see-hold'), '');
  await student.locator('.items a').nth(2).click();
  await student.waitForSelector('.reason');
});

test('the replay begins at the moment that decided, slower when asked', async () => {
  await student.getByRole('button', { name: 'quarter speed' }).click();
  await student.locator('.player-note', { hasText: /quarter/ }).waitFor();
  assert.equal(await student.locator('.watch-press').count(), 0, 'no watch runs in a replay');
});

test('the first trial scored where a later one counts', async () => {
  await student.getByRole('link', { name: 'Next item' }).click();
  await student.waitForSelector('.scoring');
  await fill(student, { trial: 1, facts: { hold: '9.7', ended: 'foot-down' }, score: '3' });
  await save(student);
  assert.ok((await slips(student)).includes('wrong-trial'));
  assert.match(await student.locator('.trial.decides h3').textContent(), /Trial 2/);
});

test('what is missing is said in a summary with the focus, and beside the field', async () => {
  await student.getByRole('link', { name: 'Next item' }).click();
  await student.waitForSelector('.scoring');
  await save(student);
  await student.waitForSelector('.problems:not([hidden])');
  assert.ok(await student.evaluate(() => document.activeElement?.classList.contains('problems')));
  // Whatever is said beside a field is in the summary, the score's and what a score would need.
  assert.equal(await student.locator('.problems a').count(), await student.locator('.scoring .problem:not(:empty)').count());
  assert.ok(await student.locator('.problems a').count() > 1);
  await student.check('input[name=score][value="2"]');
  await save(student);
  assert.match(await student.locator('#which-problem').textContent(), /which trial/);
  // Whoever comes to a group of choices hears what is wrong with it (WCAG 3.3.1).
  const groups = await student.locator('.scoring fieldset:has(.problem)').evaluateAll(all => all.map(one =>
    [one.id, document.getElementById(one.getAttribute('aria-describedby') ?? '')?.closest('fieldset')?.id]));
  assert.ok(groups.length > 2);
  for (const [group, described] of groups) assert.equal(described, group);
});

test('a score that agrees from the wrong trial is right for the wrong reason', async () => {
  await fill(student, { trial: 1, facts: { sit_legs: 'bear' }, score: '3' });
  await save(student);
  const named = await slips(student);
  assert.ok(named.includes('right-for-wrong-reason'), named.join());
  assert.equal(await student.locator('#reason-title').textContent(), 'You agree with the key');
  await shot(student, 'reason-warning-wide');
});

test('facts that cannot be together come back into the form, and nothing is lost', async () => {
  await student.getByRole('link', { name: 'Next item' }).click(); // pb-otter 6
  await student.waitForSelector('.scoring');
  // Time is never called before the top time of the item.
  await fill(student, { trial: 1, facts: { hold: '6.4', ended: 'time-called' }, score: '2' });
  await save(student);
  await student.waitForSelector('.problems:not([hidden])');
  assert.equal(await student.inputValue('#see-hold'), '6.4');
  assert.equal(await student.locator('input[name=score]:checked').inputValue(), '2');
  assert.equal(await student.locator('input[name=which]:checked').inputValue(), '1');
  await fill(student, { trial: 2, facts: { hold: '11.9', ended: 'time-called' }, score: '4' });
  await save(student);
  assert.deepEqual(await slips(student), []);
});

test('a child that is scored without a level, and a rule read wrong in a timed item', async () => {
  await student.getByRole('link', { name: 'Next item' }).click(); // pb-otter 12
  await student.waitForSelector('.scoring');
  await fill(student, { trial: 2, facts: { pickup: 'short', gap: '0.5' }, score: '2' });
  await save(student);
  await student.waitForSelector('.reason');
  await student.getByRole('link', { name: 'Next item' }).click(); // pb-ibis 1: several pushes, or one?
  await student.waitForSelector('.scoring');
  await fill(student, { trial: 2, facts: { rise_hands: 'bench' }, score: 'status:refused' });
  await save(student);
  await student.waitForSelector('.reason');
  assert.equal(await student.locator('.pair dd').first().textContent(), 'refused');
  await student.getByRole('link', { name: 'Next item' }).click(); // pb-ibis 9
  await student.waitForSelector('.scoring');
  await fill(student, { trial: 2, facts: { hold: '5.6', ended: 'leg-touch' }, score: '1' });
  await save(student);
  assert.deepEqual(await slips(student), ['read-the-rule-wrong']);
});

test('the last item ends in a summary with the items to work on and the next set', async () => {
  await student.getByRole('link', { name: 'Next item' }).click(); // pb-ibis 13
  await student.waitForSelector('.scoring');
  await fill(student, { facts: { taps: '5', seconds: '27.7' }, score: '2' });
  await student.check('input[name=sure][value="0.75"]');
  await save(student);
  await student.waitForSelector('.reason');
  await student.getByRole('button', { name: 'Finish, to the summary' }).click();
  await student.waitForURL('**/summary');
  await student.waitForSelector('.figures');
  const text = await student.locator('main').textContent();
  assert.match(text, /Scored as the key/);
  assert.match(text, /Rising to stand: missed/);
  await shot(student, 'summary-wide');
  await student.getByRole('button', { name: 'Begin the next set' }).click();
  await student.waitForURL(address => /^\/sitting\/[^/]+$/.test(address.pathname));
  await student.waitForSelector('.scoring');
});

test('progress shows the learning curve with its table, and the first page where one stopped', async () => {
  await student.goto('/progress');
  await student.waitForSelector('.chart');
  assert.ok(await student.locator('table').count() >= 2);
  await shot(student, 'progress-wide');
  await student.goto('/');
  await student.locator('h2', { hasText: 'Continue where you stopped' }).waitFor();
  await shot(student, 'home-wide');
});

test('an item is learned by its levels side by side and by pairs', async () => {
  await student.goto('/learn/4?instrument=pediatric-balance');
  await student.waitForSelector('.ladder');
  assert.equal(await student.locator('.ladder > li').count(), 5);
  // With a keyboard the way to a choice goes over the others, and none of them tells anything.
  const pair = student.getByRole('region', { name: 'Pair 1' });
  await pair.locator('input[value=a]').focus();
  await student.keyboard.press('ArrowRight');
  await student.keyboard.press('ArrowRight');
  assert.equal(await pair.locator('input:checked[name=pair-0]').inputValue(), 'same');
  assert.equal(await pair.locator('form + [role=status]').textContent(), '');
  // Which is higher, and by which fact: both are held against what the site knows.
  const known = (await student.evaluate(async () => (await fetch('/api/learn/pediatric-balance/4?seed=1')).json())).pairs;
  const at = known.findIndex(one => one.higher !== 'same');
  const told = student.getByRole('region', { name: `Pair ${at + 1}` });
  const say = async (higher, fact) => {
    await told.locator(`input[value=${higher}]`).check();
    await told.getByLabel('By which fact?').selectOption(fact);
    await told.getByRole('button', { name: 'See' }).click();
    return told.locator('form + [role=status]').textContent();
  };
  const { higher, by, fact } = known[at];
  assert.equal(await say(higher, by[0]), `Yes: ${higher.toUpperCase()} is higher, and by that fact. ${fact}`);
  assert.match(await say(higher, 'guard'), /^Yes: .* but not by that\. /);
  assert.match(await say(higher === 'a' ? 'b' : 'a', by[0]), /^No: /);
  await shot(student, 'learn-wide');
});

test('all fourteen items can be learned, and what is timed plays', async () => {
  let timed = 0;
  for (let item = 1; item <= 14; ++item) {
    await student.goto(`/learn/${item}`);
    await student.waitForSelector('.ladder');
    assert.equal(await student.locator('.ladder > li').count(), 5, `item ${item}`);
    assert.ok(await student.locator('.ladder .trial').count() >= 3, `item ${item} has performances`);
    const play = student.locator('.player-play');
    if (await play.count() === 0) continue;
    timed += 1;
    await play.first().click();
    await student.locator('.player-play', { hasText: 'Break off' }).first().waitFor();
    assert.ok(await student.locator('.fig path').count() > 20, `item ${item} is drawn`);
  }
  console.log(`# ${timed} items have performances that play`);
  assert.ok(timed >= 12);
});

test('no page broke the content security policy or threw', () => {
  assert.deepEqual(student.faults, []);
});
