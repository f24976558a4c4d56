// Nothing is lost, the harder half: answers that wait on a device while somebody between speaks for the site, while
// the device's clock is set back, when one of them has to be mended, on two devices, and after signing out.

import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { test } from 'node:test';
import { begin, fill, join, open, save, signIn, until, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

const first = 'First steps';
const answers = '**/answers/**';

const storedAt = (page, sitting) => page.evaluate(async where => (await (await fetch(where)).json()).answers
  .map(one => [one.case, one.item, one.value, one.revision]), `/api${sitting.replace('sitting', 'sittings')}`);

const saved = page => page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
const waits = (page, words) => page.locator('#kept', { hasText: words }).waitFor();
const online = page => page.evaluate(() => dispatchEvent(new Event('online')));

/** Saves one item while nothing gets through; the page says that it waits. */
async function saveUnsent(page, what) {
  await page.waitForSelector('.scoring');
  await fill(page, what);
  await save(page);
  await page.locator('.notice', { hasText: 'Saved on this device' }).waitFor();
}

/** On to the next item, whose form is there when this comes back. */
async function next(page) {
  const before = await page.title();
  await page.getByRole('link', { name: 'Next item' }).click();
  await until(page, title => document.title !== title, before);
  await page.waitForSelector('.scoring');
}

/** The first child of the set but its last item, each scored as it should be, up to `count`. */
const firstChild = [{ score: '4' }, { score: '4' }, { facts: { hold: '11.6' }, score: '4' }, { trial: 2, facts: { hold: '13' }, score: '4' }];

test('what somebody between says for the site takes no answer off the device', async () => {
  const page = await open(browser, site);
  await join(page, site, 'far-curlew');
  const sitting = await begin(page, first);
  let reply = { status: 200, contentType: 'text/html', body: '<p>Accept the terms of this hotel to go on.</p>' };
  let tries = 0;
  await page.route(answers, route => { tries += 1; return route.fulfill(reply); });
  await saveUnsent(page, { score: '4' });
  await waits(page, 'Offline: 1 answer waits');
  const others = [{ status: 403, contentType: 'text/html', body: 'Blocked.' }, { status: 404, contentType: 'text/html', body: 'Not here.' },
    { status: 409, contentType: 'text/plain', body: '' }, { status: 200, contentType: 'application/json', body: '{"saved":' },
    { status: 421, contentType: 'application/json', body: '{"error":{"code":"other-host","says":"This site does not go by that name."}}' }];
  for (const one of others) {
    reply = one;
    const before = tries;
    await online(page);
    for (let i = 0; i < 100 && tries === before; ++i) await page.waitForTimeout(50);
    assert.ok(tries > before, `tried again after ${one.status}`);
    await waits(page, 'Offline: 1 answer waits');
  }
  await page.unroute(answers);
  await online(page);
  await saved(page);
  assert.deepEqual(await storedAt(page, sitting), [['pb-lark', '1', '4', 1]]);
  await page.context().close();
});

test('answers are sent in the order in which they were given, though the clock was set back between them', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await page.addInitScript(() => {
    const Real = Date;
    const shift = () => Number(sessionStorage.getItem('shift') ?? 0);
    // @ts-ignore
    window.Date = class extends Real { constructor(...given) { if (given.length) super(...given); else super(Real.now() + shift()); }
      static now() { return Real.now() + shift(); } };
  });
  await join(page, site, 'late-plover');
  const sitting = await begin(page, first);
  await page.route(answers, route => route.abort());
  for (const what of firstChild) {
    await saveUnsent(page, what);
    await next(page);
  }
  await page.evaluate(() => sessionStorage.setItem('shift', String(-86400000)));
  assert.match(await page.title(), /case 2 of 3/);
  await saveUnsent(page, { trial: 2, facts: { sit_hands: 'before' }, score: '3' });
  await waits(page, '5 answers wait');
  await page.unroute(answers);
  await online(page);
  await saved(page);
  assert.deepEqual((await storedAt(page, sitting)).map(one => one.slice(0, 2).join('/')),
    ['pb-lark/1', 'pb-lark/2', 'pb-lark/6', 'pb-lark/9', 'pb-otter/2']);
  assert.equal(await page.locator('.notice', { hasText: 'was not taken' }).count(), 0);
  await context.close();
});

test('when one answer has to be mended, those of the next child wait in their forms', async () => {
  const page = await open(browser, site);
  await join(page, site, 'mended-wren');
  const sitting = await begin(page, first);
  let refused = true;
  await page.route(answers, route => {
    if (!refused) return route.continue();
    if (route.request().url().includes('/pb-lark/9/'))
      return route.fulfill({ status: 422, contentType: 'application/json', body: '{"error":{"code":"invalid","says":"These two cannot be together."}}' });
    return sending ? route.continue() : route.abort();
  });
  let sending = false;
  for (const what of firstChild) {
    await saveUnsent(page, what);
    await next(page);
  }
  await saveUnsent(page, { trial: 2, facts: { sit_hands: 'before' }, score: '3' });
  sending = true;
  await online(page);
  await saved(page);
  assert.deepEqual((await storedAt(page, sitting)).map(one => one.slice(0, 2).join('/')), ['pb-lark/1', 'pb-lark/2', 'pb-lark/6']);
  refused = false;
  await page.goto(`${sitting}#pb-lark/9`);
  await page.reload();
  await page.locator('.problems', { hasText: 'These two cannot be together.' }).waitFor();
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '4');
  await save(page);
  await page.waitForSelector('.reason');
  await next(page);
  assert.match(await page.title(), /case 2 of 3/);
  await page.locator('.problems', { hasText: 'Not saved yet' }).waitFor();
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '3', 'what was given is in the form');
  assert.equal(await page.locator('input[name="see-sit_hands"]:checked').inputValue(), 'before');
  await save(page);
  await page.waitForSelector('.reason');
  await saved(page);
  assert.equal((await storedAt(page, sitting)).length, 5);
  await page.context().close();
});

test('a second thought that waits behind a refused first one is kept in its place', async () => {
  const page = await open(browser, site);
  await join(page, site, 'second-shrew');
  const sitting = await begin(page, 'Demonstration of a skills check');
  let sending = false;
  await page.route(answers, route => {
    if (!sending) return route.abort();
    return route.request().postDataJSON().value === '2'
      ? route.fulfill({ status: 422, contentType: 'application/json', body: '{"error":{"code":"invalid","says":"No."}}' }) : route.continue();
  });
  await fill(page, { trial: 1, score: '2' });
  await save(page);
  await until(page, () => document.title.includes('item 2 of 7'));
  await page.locator('.items li').first().locator('a').click();
  await until(page, () => document.title.includes('item 1 of 7'));
  await page.check('input[name=score][value="3"]');
  await save(page);
  await waits(page, 'Offline: 2 answers wait');
  sending = true;
  await online(page);
  await saved(page);
  assert.deepEqual(await storedAt(page, sitting), [['pb-heron', '1', '3', 1]]);
  // And the page knows where it is: one more change is the next revision.
  await page.goto(`${sitting}#pb-heron/1`);
  await until(page, () => document.title.includes('item 1 of 7'));
  await page.waitForSelector('.scoring');
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '3');
  await page.check('input[name=score][value="4"]');
  await save(page);
  await saved(page);
  for (let i = 0; i < 100 && (await storedAt(page, sitting))[0][3] < 2; ++i) await page.waitForTimeout(50);
  assert.deepEqual(await storedAt(page, sitting), [['pb-heron', '1', '4', 2]]);
  await page.context().close();
});

test('two devices of one rater: the same answer is one answer, and of two that differ the first stands, which is said', async () => {
  const phone = await open(browser, site, { width: 390 }), laptop = await open(browser, site);
  await join(phone, site, 'both-hands');
  const sitting = await begin(phone, first);
  await signIn(laptop, 'both-hands');
  await laptop.waitForSelector('.cards');
  await laptop.goto(sitting);
  await laptop.waitForSelector('.scoring');
  await phone.route(answers, route => route.abort());
  await saveUnsent(phone, { score: '4' });
  await next(phone);
  await saveUnsent(phone, { score: '4' });
  for (const score of ['4', '3']) {
    await fill(laptop, { score });
    await save(laptop);
    await laptop.waitForSelector('.reason');
    if (score === '4') await next(laptop);
  }
  await phone.unroute(answers);
  await online(phone);
  await phone.locator('.notice', { hasText: 'Your answer to item 2 (4) was not taken' }).waitFor();
  await saved(phone);
  assert.deepEqual(await storedAt(phone, sitting), [['pb-lark', '1', '4', 1], ['pb-lark', '2', '3', 1]]);
  assert.equal(await phone.locator('.notice', { hasText: 'item 1' }).count(), 0);
  await phone.context().close();
  await laptop.context().close();
});

test('signing out with answers that wait asks first, and they are sent after the next sign-in', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await join(page, site, 'quiet-exit');
  const sitting = await begin(page, first);
  await page.route(answers, route => route.abort());
  await saveUnsent(page, { score: '4' });
  await page.goto('/account');
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await page.locator('.notice', { hasText: 'They stay here for you' }).waitFor();
  await page.getByRole('button', { name: 'Sign out all the same' }).click();
  await page.waitForURL(address => address.pathname === '/');
  await page.unroute(answers);
  await signIn(page, 'quiet-exit');
  await page.waitForSelector('.cards');
  await saved(page);
  for (let i = 0; i < 100 && !(await storedAt(page, sitting)).length; ++i) await page.waitForTimeout(50);
  assert.deepEqual(await storedAt(page, sitting), [['pb-lark', '1', '4', 1]]);
  await context.close();
});

/** What makes up the store, put elsewhere or back, while the program does not run. */
function copyStore(from, to) {
  for (const end of ['', '-wal', '-shm']) {
    fs.rmSync(path.join(to, `site.db${end}`), { force: true });
    if (fs.existsSync(path.join(from, `site.db${end}`))) fs.copyFileSync(path.join(from, `site.db${end}`), path.join(to, `site.db${end}`));
  }
}

test('after an older backup was put in place of the store, the device sends what the site knew before', async () => {
  const page = await open(browser, site);
  await join(page, site, 'twice-told');
  const sitting = await begin(page, first);
  const answer = async what => {
    await page.waitForSelector('.scoring');
    await fill(page, what);
    await save(page);
    await page.waitForSelector('.reason');
  };
  await answer({ score: '4' });
  const backup = fs.mkdtempSync(path.join(site.folder, 'backup-'));
  await site.kill();
  copyStore(site.folder, backup);
  await site.run();
  await next(page);
  await answer({ score: '4' });
  await next(page);
  await answer({ facts: { hold: '11.6' }, score: '4' });
  const before = await storedAt(page, sitting);
  assert.equal(before.length, 3);
  await site.kill();
  copyStore(backup, site.folder);
  await site.run();
  assert.equal((await storedAt(page, sitting)).length, 1);
  await page.reload();
  await page.waitForSelector('.scoring, .reason');
  await saved(page);
  for (let i = 0; i < 100 && (await storedAt(page, sitting)).length < 3; ++i) await page.waitForTimeout(50);
  assert.deepEqual(await storedAt(page, sitting), before);
  await page.waitForSelector('.reason');
  await page.context().close();
});
