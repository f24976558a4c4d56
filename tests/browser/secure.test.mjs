// What src/server/security.md says of pages: passphrases may be pasted and kept by a keeper of passwords, and what
// people wrote is text.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { join, open, signIn, withSite } from './browser.mjs';

let site, browser;

withSite(given => { ({ site, browser } = given); });

/** As a person does it: the words come from the clipboard. */
async function paste(page, field, words) {
  await page.evaluate(text => navigator.clipboard.writeText(text), words);
  await page.focus(field);
  await page.keyboard.press('Control+V');
}

test('a passphrase may be pasted, and its field tells a keeper of passwords what it is', async () => {
  const page = await open(browser, site, { permissions: ['clipboard-read', 'clipboard-write'] });
  await join(page, site, 'pasting-pika');
  await page.context().clearCookies();
  // Names as in the HTML standard, "Autofill": what the browser and its helpers go by.
  const kinds = { '/join': 'new-password', '/reset': 'new-password', '/claim': 'new-password', '/setup': 'new-password', '/sign-in': 'current-password' };
  for (const [where, kind] of Object.entries(kinds)) {
    await page.goto(where);
    assert.equal(await page.getAttribute('#rater', 'autocomplete'), 'username', where);
    assert.equal(await page.getAttribute('#passphrase', 'autocomplete'), kind, where);
    assert.equal(await page.getAttribute('#passphrase', 'type'), 'password', where);
  }
  await page.fill('#rater', 'pasting-pika');
  await paste(page, '#passphrase', passphrase);
  assert.equal(await page.inputValue('#passphrase'), passphrase);
  await page.click('button[type=submit]');
  await page.waitForSelector('.cards');
  await page.context().close();
});

test('what people wrote is shown as text, whatever it looks like', async () => {
  const wrote = '<img src=x onerror="document.title=1"><script>1</script><u>u</u>&amp;{{title}}';
  const page = await open(browser, site);
  await signIn(page, 'first-instructor');
  await page.waitForURL(address => address.pathname !== '/sign-in');
  const ask = async (method, where, body) => {
    const answer = await site.ask(method, where, body, site.instructor);
    assert.ok(answer.status < 300, `${where}: ${JSON.stringify(answer)}`);
    return answer.json;
  };
  const group = await ask('POST', '/api/groups', { title: wrote });
  const student = await site.ask('POST', '/api/join', { code: group.code, rater: 'marked-up', passphrase });
  assert.equal(student.status, 201);
  await ask('POST', `/api/groups/${group.id}/raters/marked-up/remarks`, { text: wrote });
  const round = await ask('POST', '/api/rounds', { title: wrote, set: 'pb-round-demonstration', groups: [group.id] });
  const theirs = await open(browser, site);
  await signIn(theirs, 'marked-up');
  await theirs.waitForSelector('.cards');
  let shown = 0;
  for (const [who, where] of [[page, '/groups'], [page, `/groups/${group.id}`], [page, `/groups/${group.id}/raters/marked-up`], [page, '/department'],
    [page, `/department/rounds/${round.id}`], [theirs, '/'], [theirs, '/account']]) {
    const answer = await who.goto(where);
    assert.equal(answer.status(), 200, where);
    await who.waitForLoadState('networkidle');
    assert.equal(await who.locator('img[src="x"], u').count(), 0, where);
    assert.equal(await who.evaluate(() => [...document.scripts].filter(one => one.textContent).length), 0, where);
    assert.match(await who.title(), /evenhand/, where);
    shown += (await who.locator('body').textContent()).split(wrote).length - 1;
  }
  assert.ok(shown >= 4, `shown ${shown} times, letter by letter`);
  for (const one of [page, theirs]) {
    assert.deepEqual(one.faults, []);
    await one.context().close();
  }
});
