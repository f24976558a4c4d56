// What the practice page weighs on the way to the browser, and that all of it comes from the site itself.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { begin, join, open, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

test('the practice page weighs less than 150 KB compressed, and asks nobody else', async () => {
  const page = await open(browser, site, { serviceWorkers: 'block' });
  await join(page, site, 'quiet-otter');
  const sitting = await begin(page, 'First steps');
  const protocol = await page.context().newCDPSession(page);
  await protocol.send('Network.enable');
  await protocol.send('Network.setCacheDisabled', { cacheDisabled: true });
  const addresses = new Map();
  let sent = 0, page_ = 0;
  protocol.on('Network.requestWillBeSent', event => addresses.set(event.requestId, event.request.url));
  protocol.on('Network.loadingFinished', event => {
    const url = new URL(addresses.get(event.requestId));
    if (!url.protocol.startsWith('http')) return;
    assert.equal(url.origin, site.base);
    sent += event.encodedDataLength;
    if (!url.pathname.startsWith('/api/')) page_ += event.encodedDataLength;
  });
  await page.goto('about:blank');
  await page.goto(`${site.base}${sitting}#pb-lark/6`);
  await page.waitForSelector('.player-play');
  await page.waitForLoadState('networkidle');
  console.log(`# practice page: ${(page_ / 1024).toFixed(1)} KB of HTML, styles and modules, ${(sent / 1024).toFixed(1)} KB with its data`);
  assert.ok(page_ > 10 * 1024 && page_ < 150 * 1024, `${page_} bytes`);
  await page.context().close();
});
