// Nothing is lost: a killed server, a lost connection, another rater on the same device.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { begin, fill, join, open, save, shot, signIn, until, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

const first = 'First steps';

async function answersOf(page, sitting) {
  return page.evaluate(async where => (await (await fetch(where)).json()).answers, `/api${sitting.replace('sitting', 'sittings')}`);
}

test('after the server is killed an answer waits, and is kept once when it is back', async () => {
  const page = await open(browser, site);
  await join(page, site, 'tall-heron');
  const sitting = await begin(page, first);
  await fill(page, { score: '4' });
  await save(page);
  await page.waitForSelector('.reason');
  await page.getByRole('link', { name: 'Next item' }).click();
  await page.waitForSelector('.scoring');
  await site.kill();
  await fill(page, { facts: { sit_hands: 'after' }, score: '4' });
  await save(page);
  await page.locator('#kept', { hasText: 'Offline: 1 answer waits' }).waitFor();
  await page.locator('.notice', { hasText: 'Saved on this device' }).waitFor();
  await shot(page, 'offline-wide');
  await site.run();
  await page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor({ timeout: 30000 });
  await page.waitForSelector('.reason');
  const answers = await answersOf(page, sitting);
  assert.deepEqual(answers.map(one => [one.item, one.value, one.revision]), [['1', '4', 1], ['2', '4', 1]]);

  // Closing the lid in the middle: the same item, with what was entered.
  await page.getByRole('link', { name: 'Next item' }).click();
  await page.waitForSelector('#see-hold');
  await page.fill('#see-hold', '11.5');
  await page.check('input[name=score][value="4"]');
  await until(page, async rater => {
    const whole = request => new Promise((resolve, reject) => { request.onsuccess = () => resolve(request.result); request.onerror = () => reject(request.error); });
    const database = await whole(indexedDB.open(`evenhand-${rater}`));
    const drafts = await whole(database.transaction('drafts').objectStore('drafts').getAll());
    database.close();
    return drafts.some(one => one.score === '4' && one.numbers.hold === '11.5');
  }, 'tall-heron');
  await page.goto('/');
  await page.locator('.card.go', { hasText: first }).locator('a.button').click();
  await page.waitForSelector('#see-hold');
  assert.match(await page.title(), /item 3 of 4, case 1 of 3/);
  assert.equal(await page.inputValue('#see-hold'), '11.5');
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '4');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('five items scored offline, the page opened again offline, then all are sent, none twice', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await join(page, site, 'grey-seal');
  const sitting = await begin(page, first);
  // The service worker takes over, then has the set's cases fetched.
  await until(page, () => Boolean(navigator.serviceWorker?.controller));
  await page.reload();
  await page.waitForSelector('.scoring');
  await until(page, async () => {
    const pages = await caches.open('evenhand-pages-1');
    return (await pages.keys()).filter(one => one.url.includes('/cases/')).length === 3;
  });
  await context.setOffline(true);
  const answer = async what => {
    await page.waitForSelector('.scoring');
    await fill(page, what);
    await save(page);
    await page.locator('.notice', { hasText: 'Saved on this device' }).waitFor();
  };
  await answer({ score: '4' });
  await page.getByRole('link', { name: 'Next item' }).click();
  await answer({ score: '4' });
  await page.getByRole('link', { name: 'Next item' }).click();
  await answer({ facts: { hold: '11.6' }, score: '4' });
  await page.locator('#kept', { hasText: 'Offline: 3 answers wait' }).waitFor();
  await page.reload();
  await page.locator('.notice', { hasText: 'Saved on this device' }).waitFor();
  await page.locator('#kept', { hasText: '3 answers wait' }).waitFor();
  assert.match(await page.title(), /item 3 of 4/, 'the same item');
  await page.getByRole('link', { name: 'Next item' }).click();
  await answer({ trial: 2, facts: { hold: '13' }, score: '4' });
  await page.getByRole('link', { name: 'Next item' }).click();
  await until(page, () => document.title.includes('case 2 of 3'));
  await answer({ trial: 2, facts: { sit_hands: 'before' }, score: '3' });
  await page.locator('#kept', { hasText: 'Offline: 5 answers wait' }).waitFor();
  await context.setOffline(false);
  await page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor({ timeout: 30000 });
  await page.waitForSelector('.reason');
  const answers = await answersOf(page, sitting);
  assert.deepEqual(answers.map(one => [one.case, one.item, one.revision]),
    [['pb-lark', '1', 1], ['pb-lark', '2', 1], ['pb-lark', '6', 1], ['pb-lark', '9', 1], ['pb-otter', '2', 1]]);
  const left = await page.evaluate(() => new Promise(resolve => {
    const request = indexedDB.open('evenhand-grey-seal');
    request.onsuccess = () => {
      const all = request.result.transaction('answers').objectStore('answers').count();
      all.onsuccess = () => resolve(all.result);
    };
  }));
  assert.equal(left, 0, 'nothing of it stays in the queue');
  assert.deepEqual(page.faults, []);
  await context.close();
});

test('what the service worker keeps holds no reason and no key', async () => {
  const page = await open(browser, site);
  await join(page, site, 'brown-hare');
  await begin(page, first);
  await until(page, () => Boolean(navigator.serviceWorker?.controller));
  await page.reload();
  await page.waitForSelector('.scoring');
  await fill(page, { score: '3' });
  await save(page);
  await page.waitForSelector('.reason');
  const kept = await page.evaluate(async () => {
    const all = [];
    for (const name of await caches.keys())
      for (const request of await (await caches.open(name)).keys()) {
        const path = new URL(request.url).pathname;
        if (!path.startsWith('/a/')) all.push([path, await (await caches.match(request)).text()]);
      }
    return all;
  });
  assert.ok(kept.some(([path]) => path.includes('/cases/')), 'cases are kept');
  for (const [path, text] of kept) {
    assert.doesNotMatch(path, /feedback|summary/);
    if (path.includes('/cases/')) assert.doesNotMatch(text, /"(key|observed|reason)"/, path);
  }
  await page.context().close();
});

test('another rater on the same device sends nothing of the first', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await join(page, site, 'red-vole');
  const sitting = await begin(page, first);
  await until(page, () => Boolean(navigator.serviceWorker?.controller));
  // The session ends elsewhere; the answer that follows cannot be sent.
  await context.clearCookies();
  await fill(page, { score: '4' });
  await save(page);
  await page.locator('#kept', { hasText: 'Signed out: 1 answer waits' }).waitFor();

  const puts = [];
  page.on('request', request => { if (request.method() === 'PUT') puts.push(request.url()); });
  await join(page, site, 'blue-newt');
  await page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
  // The page has done all it does by itself when the network rests; then the outbox is asked to send once more.
  await page.waitForLoadState('networkidle');
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await page.waitForLoadState('networkidle');
  assert.deepEqual(puts, [], 'nothing is sent as another rater');
  await page.goto('/account');
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await page.waitForURL(address => address.pathname === '/');

  await signIn(page, 'red-vole');
  await page.waitForSelector('.cards');
  await page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
  await until(page, async where => (await (await fetch(where)).json()).answers.length === 1,
    `/api${sitting.replace('sitting', 'sittings')}`);
  assert.equal(puts.length, 1);
  await context.close();
});

/** How many answers wait on the device. @param {string} rater */
const waitingOf = (page, rater) => page.evaluate(name => new Promise(resolve => {
  const request = indexedDB.open(`evenhand-${name}`);
  request.onsuccess = () => {
    const all = request.result.transaction('answers').objectStore('answers').count();
    all.onsuccess = () => { request.result.close(); resolve(all.result); };
  };
}), rater);

test('somebody else signs in in another tab: what waits here is not thrown away', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await join(page, site, 'pale-crane');
  const sitting = await begin(page, first);
  await page.route('**/answers/**', route => route.abort());
  await fill(page, { score: '4' });
  await save(page);
  await page.locator('#kept', { hasText: 'Offline: 1 answer waits' }).waitFor();

  const other = await context.newPage();
  await context.clearCookies();
  await join(other, site, 'plain-goose');
  await page.unroute('**/answers/**');
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await page.locator('#kept', { hasText: 'Signed out: 1 answer waits' }).waitFor();
  assert.equal(await waitingOf(page, 'pale-crane'), 1);

  await context.clearCookies();
  await signIn(other, 'pale-crane');
  await other.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
  await until(other, async where => (await (await fetch(where)).json()).answers?.length === 1,
    `/api${sitting.replace('sitting', 'sittings')}`);
  assert.equal(await waitingOf(other, 'pale-crane'), 0);
  await context.close();
});

test('an answer that is refused while another page is open waits in the form, with what was said', async () => {
  const page = await open(browser, site);
  await join(page, site, 'slow-stork');
  await begin(page, first);
  await page.route('**/answers/**', route => route.abort());
  await fill(page, { score: '3' });
  await save(page);
  await page.locator('#kept', { hasText: 'Offline: 1 answer waits' }).waitFor();
  await page.unroute('**/answers/**');
  await page.route('**/answers/**', route => route.fulfill({ status: 422, contentType: 'application/json',
    body: JSON.stringify({ error: { code: 'invalid', says: 'These two cannot be together.' } }) }));
  await page.goto('/');
  await page.locator('.notice', { hasText: 'Item 1 was not taken: These two cannot be together.' }).waitFor();
  await page.unroute('**/answers/**');
  await page.getByRole('link', { name: 'To the item' }).click();
  await page.locator('.problems', { hasText: 'These two cannot be together.' }).waitFor();
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '3');
  await page.context().close();
});

test('two tabs of one rater: the reason comes in the one that did not send', async () => {
  const page = await open(browser, site);
  const context = page.context();
  await join(page, site, 'twin-finch');
  await begin(page, first);
  await page.route('**/answers/**', route => route.abort());
  await fill(page, { score: '4' });
  await save(page);
  await page.locator('.notice', { hasText: 'Saved on this device' }).waitFor();
  const other = await context.newPage();
  await other.goto('/');
  await other.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
  await until(other, () => new Promise(resolve => {
    const request = indexedDB.open('evenhand-twin-finch');
    request.onsuccess = () => {
      const all = request.result.transaction('answers').objectStore('answers').count();
      all.onsuccess = () => { request.result.close(); resolve(all.result === 0); };
    };
  }));
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await page.waitForSelector('.reason');
  await context.close();
});

test('a device without a database says what was not saved, and takes it again', async () => {
  const page = await open(browser, site);
  await page.addInitScript(() => { IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); }; });
  await join(page, site, 'bare-plover');
  await begin(page, first);
  await page.route('**/answers/**', route => route.abort());
  await fill(page, { score: '4' });
  await save(page);
  await page.locator('.problems', { hasText: 'Not saved yet' }).waitFor();
  await page.unroute('**/answers/**');
  await save(page);
  await page.waitForSelector('.reason');
  await page.context().close();
});
