// For everyone: axe-core on every page, 320 px, zoom, the keyboard alone, less motion, high contrast.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { passphrase } from './site.mjs';
import { answerRest, axe, begin, fill, join, open, save, shot, signIn, toItem, until, withSite } from './browser.mjs';

let site, browser, sitting, done;

withSite(async given => {
  ({ site, browser } = given);
  const page = await open(browser, site);
  await join(page, site, 'quiet-otter');
  sitting = await begin(page, 'First steps');
  await fill(page, { score: '3' });
  await save(page);
  await page.waitForSelector('.reason');
  // A second sitting, handed in, for the summary and the learning curve.
  done = await begin(page, 'Demonstration of a skills check');
  await fill(page, { trial: 1, score: '2' });
  await save(page);
  await until(page, () => document.title.includes('item 2 of 7'));
  await page.locator('#kept', { hasText: 'Everything is saved.' }).waitFor();
  await answerRest(page, done);
  await page.reload();
  await page.waitForSelector('.scoring');
  await page.getByRole('button', { name: 'Hand in', exact: true }).click();
  await page.locator('h1', { hasText: 'Hand in' }).waitFor();
  await page.getByRole('button', { name: 'Hand in', exact: true }).click();
  await page.waitForURL('**/summary');
  await page.context().close();
});

/** Name, address, what shows that it is there, who looks. */
const pages = () => [
  ['welcome', '/', 'h1', null],
  ['join', '/join', '#form', null],
  ['sign-in', '/sign-in', '#form', null],
  ['setup', '/setup', '#form', null],
  ['reset', '/reset', '#form', null],
  ['about', '/about', 'h2', null],
  ['nothing', '/no-such-page', 'h1', null],
  ['home', '/', '.items-to-learn', 'quiet-otter'],
  ['sitting-written', `${sitting}#pb-lark/2`, '.scoring', 'quiet-otter'],
  ['sitting-timed', `${sitting}#pb-lark/9`, '.scoring', 'quiet-otter'],
  ['sitting-reason', `${sitting}#pb-lark/1`, '.reason', 'quiet-otter'],
  ['summary', `${done}/summary`, '.figures', 'quiet-otter'],
  ['progress', '/progress', 'table', 'quiet-otter'],
  ['learn-timed', '/learn/4?instrument=pediatric-balance', '.ladder', 'quiet-otter'],
  ['learn-written', '/learn/3?instrument=pediatric-balance', '.ladder', 'quiet-otter'],
  ['account', '/account', 'table', 'quiet-otter'],
  ['groups', '/groups', '.code', 'first-instructor'],
];

/** Whether anything sticks out of the page sideways. */
const sideways = page => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

for (const [scheme, width] of [['light', 1280], ['dark', 1280], ['light', 320], ['dark', 320]]) {
  test(`axe-core finds nothing on any page, ${scheme}, ${width} px wide, and nothing scrolls sideways`, async () => {
    /** @type {Record<string, any>} */
    const contexts = {};
    for (const rater of [null, 'quiet-otter', 'first-instructor']) {
      const page = await open(browser, site, { width, colorScheme: scheme, bypassCSP: true, reducedMotion: 'reduce' });
      if (rater) {
        await signIn(page, rater);
        await page.waitForSelector('.cards');
      }
      contexts[String(rater)] = page;
    }
    const found = [];
    for (const [name, where, sign, rater] of pages()) {
      const page = contexts[String(rater)];
      // A change of the hash alone opens no page.
      await page.goto('about:blank');
      await page.goto(site.base + where);
      await page.waitForSelector(sign);
      await page.waitForLoadState('networkidle');
      await page.evaluate(() => document.querySelectorAll('details').forEach(fold => { fold.open = true; }));
      await page.waitForLoadState('networkidle');
      for (const violation of await axe(page)) found.push(`${name}: ${violation}`);
      const out = await sideways(page);
      if (out > 0) found.push(`${name}: ${out} px wider than the window`);
      await shot(page, `${name}-${width}-${scheme}`);
    }
    for (const page of Object.values(contexts)) await page.context().close();
    assert.deepEqual(found, []);
  });
}

test('one item by the keyboard alone, each stop visible', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/2');
  const seen = [];
  const tabTo = async (what, most = 80) => {
    for (let i = 0; i < most; ++i) {
      await page.keyboard.press('Tab');
      const now = await page.evaluate(() => {
        const one = document.activeElement;
        const style = getComputedStyle(one);
        const label = one.closest('label');
        const shown = style.outlineStyle !== 'none' || (label && getComputedStyle(label).outlineStyle !== 'none');
        return { text: (one.getAttribute('name') ?? '') + ' ' + (one.textContent ?? '').trim().slice(0, 40), shown,
          tag: one.tagName, class: one.className };
      });
      seen.push(now);
      if (what(now)) return now;
    }
    throw new Error(`not reached: ${JSON.stringify(seen.slice(-20))}`);
  };
  await page.evaluate(() => { /** @type {any} */ (document.activeElement)?.blur(); });
  await tabTo(now => now.class === 'skip');
  await page.keyboard.press('Enter');
  assert.equal(await page.evaluate(() => document.activeElement?.id), 'main');
  await tabTo(now => now.tag === 'SUMMARY' && now.text.includes('usual'));
  await page.keyboard.press('Enter');
  await tabTo(now => now.text.startsWith('see-sit_hands'));
  await page.keyboard.press('ArrowDown'); // after
  await tabTo(now => now.text.startsWith('score'));
  await page.keyboard.press('4');
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '4');
  await tabTo(now => now.text.includes('Save and see why'));
  await page.keyboard.press('Enter');
  await page.waitForSelector('.reason');
  assert.equal(await page.locator('#reason-title').textContent(), 'You agree with the key');
  await tabTo(now => now.text.includes('Next item'));
  await page.keyboard.press('Enter');
  await until(page, () => document.title.includes('item 3 of 4'));
  assert.equal(await page.evaluate(() => document.activeElement?.tagName), 'H1', 'the focus goes to the new item');
  assert.deepEqual(seen.filter(one => !one.shown && one.tag !== 'BODY'), [], 'the focus is always visible');
  await page.context().close();
});

test('single keys pick a score, not while somebody types, and can be switched off', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/6');
  await page.focus('#see-hold');
  await page.keyboard.type('12');
  assert.equal(await page.locator('input[name=score]:checked').count(), 0);
  assert.equal(await page.inputValue('#see-hold'), '12');
  await page.evaluate(() => { /** @type {any} */ (document.activeElement)?.blur(); });
  await page.keyboard.press('3');
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '3');
  await page.locator('.keys input').uncheck();
  await page.evaluate(() => { /** @type {any} */ (document.activeElement)?.blur(); });
  await page.keyboard.press('1');
  assert.equal(await page.locator('input[name=score]:checked').inputValue(), '3');
  await page.context().close();
});

test('less motion is asked for, on a page that is open: the figure stands still between the moments', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/6');
  await page.locator('.fig').first().waitFor();
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await page.locator('.player-play').first().click();
  await page.locator('.watch-press:enabled').waitFor();
  const pictures = await page.evaluate(async () => {
    const figure = /** @type {Element} */ (document.querySelector('.fig'));
    const seen = new Set();
    const end = performance.now() + 4500;
    while (performance.now() < end) {
      seen.add(figure.innerHTML);
      await new Promise(resolve => requestAnimationFrame(resolve));
    }
    return seen.size;
  });
  // Moments at 0, 1.8 and 3.2 s.
  assert.ok(pictures <= 4, `${pictures} pictures in 4.5 s`);
  await page.context().close();
});

test('text at twice the size, and the spacing of WCAG 1.4.12, still fit', async () => {
  const page = await open(browser, site, { width: 640 });
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await page.addInitScript(() => document.addEventListener('DOMContentLoaded', () => {
    document.documentElement.style.fontSize = '200%';
    for (const [name, value] of [['line-height', '1.5'], ['letter-spacing', '0.12em'], ['word-spacing', '0.16em']])
      document.documentElement.style.setProperty(name, value);
  }));
  for (const where of [`${sitting}#pb-lark/9`, `${sitting}#pb-lark/1`, '/progress', '/']) {
    await page.goto('about:blank');
    await page.goto(site.base + where);
    await page.waitForSelector('.scoring, .reason, table, .cards');
    await page.waitForLoadState('networkidle');
    assert.equal(await sideways(page) > 0, false, where);
    // What is written into a drawing grows too: 15 px high where the page's text is 16.
    for (const high of await page.locator('.chart text').evaluateAll(all => all.map(one => one.getBoundingClientRect().height)))
      assert.ok(high > 26, `${where}: ${high} px`);
  }
  await page.context().close();
});

test('targets of the sitting are 44 px high and wide', async () => {
  const page = await open(browser, site, { width: 360 });
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/9');
  const small = await page.evaluate(() => [...document.querySelectorAll('main button, main a, main label, main summary, main input:not([type=radio]):not([type=checkbox])')]
    .filter(one => {
      const box = one.getBoundingClientRect();
      const unseen = box.width === 0 || one.closest('.unseen');
      // A label of a text field is no target of its own.
      const text = one.matches('label') && !one.querySelector('input');
      return !unseen && !text && (box.height < 43.5 || box.width < 43.5);
    }).map(one => one.outerHTML.slice(0, 80)));
  assert.deepEqual(small, []);
  await page.context().close();
});

test('forced colors keep what is chosen visible; print leaves the frame out', async () => {
  const page = await open(browser, site, { forcedColors: 'active' });
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/9');
  await page.check('input[name=score][value="3"]');
  assert.notEqual(await page.locator('.level:has(input:checked)').evaluate(one => getComputedStyle(one).outlineStyle), 'none');
  await shot(page, 'sitting-forced-colors');
  // The child is drawn in the forced colors, whatever was chosen on the page.
  const drawn = () => page.evaluate(() => {
    const probe = document.body.appendChild(document.createElement('i'));
    probe.style.color = 'CanvasText';
    probe.style.backgroundColor = 'Canvas';
    const forced = getComputedStyle(probe), child = getComputedStyle(/** @type {Element} */ (document.querySelector('.fig-limb:not(.fig-adult, .fig-far)')));
    const told = { ink: [child.stroke, forced.color], paper: [getComputedStyle(/** @type {Element} */ (document.querySelector('.fig-head'))).fill, forced.backgroundColor] };
    probe.remove();
    return told;
  });
  for (const theme of ['light', 'dark']) {
    await page.locator(`#themes input[value=${theme}]`).check();
    for (const [shown, forced] of Object.values(await drawn())) assert.equal(shown, forced, theme);
  }
  await page.goto(`${done}/summary`);
  await page.waitForSelector('.figures');
  await page.emulateMedia({ media: 'print' });
  assert.equal(await page.locator('header.top').isVisible(), false);
  assert.equal(await page.locator('.figures').isVisible(), true);
  await shot(page, 'summary-print');
  // On paper: what was learned and its caution, and nothing that only a screen can use.
  for (const where of [`${sitting}#pb-lark/1`, `${done}/summary`, '/progress', '/learn/4']) {
    await page.goto('about:blank');
    await page.goto(site.base + where);
    await page.waitForSelector('.reason, .figures, .chart, .ladder');
    assert.equal(await page.locator('.caution').isVisible(), true, where);
    assert.match(await page.locator('.caution').innerText(), /supports, and never replaces, supervised practice/);
    for (const unusable of ['#themes', '.caution a', '.items', '.meter', '.ways', '.replay', '.watch', 'main button'])
      assert.deepEqual(await page.locator(unusable).evaluateAll(all => all.filter(one => one.getClientRects().length).map(one => one.outerHTML.slice(0, 80))), [], where);
  }
  await page.context().close();
});

test('light or dark is kept by hand over what the device asks for', async () => {
  const page = await open(browser, site, { colorScheme: 'light' });
  await page.goto('/about');
  const paper = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
  const light = await paper();
  await page.locator('#themes input[value=dark]').check();
  const dark = await paper();
  assert.notEqual(light, dark);
  await page.reload();
  assert.equal(await paper(), dark);
  await page.context().close();
});

test('the learning curve numbers the sittings as its table does, and leaves out none that is finished', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  // One case alone has a share and no limits.
  await page.route('**/api/progress', async route => {
    const answer = await route.fetch();
    const progress = await answer.json();
    const [open, finished] = progress.sittings;
    await route.fulfill({ response: answer, json: { ...progress, sittings: [open, finished, { ...finished, lower: null, upper: null }] } });
  });
  await page.goto('/progress');
  const chart = page.locator('.chart').first();
  await chart.waitFor();
  assert.deepEqual(await page.locator('.records tbody th').allTextContents(), ['1. First steps on the Pediatric Balance Scale',
    '2. Demonstration of a skills check, sixteen half cases', '3. Demonstration of a skills check, sixteen half cases']);
  assert.deepEqual(await chart.locator('text[text-anchor=middle]').allTextContents(), ['2', '3'], 'the first is open');
  assert.deepEqual([await chart.locator('.dot').count(), await chart.locator('.limits').count()], [2, 1]);
  await page.context().close();
});

test('the page says that a session is about to end', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await page.route('**/api/me', async route => {
    const answer = await route.fetch();
    const me = await answer.json();
    await route.fulfill({ response: answer, json: { ...me, session: { ...me.session, ends: new Date(Date.now() + 5 * 60000 + 400).toISOString() } } });
  });
  await page.goto('/progress');
  await page.locator('.session', { hasText: 'Your session ends in 5 minutes' }).waitFor();
  await page.unroute('**/api/me');
  await page.getByRole('button', { name: 'Stay signed in' }).click();
  await page.locator('.session').waitFor({ state: 'detached' });
  await page.context().close();
});

test('a timed trial has a described form, announced as it happens and listed with its times, and is recorded as such', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/6');
  await page.getByLabel('Described form').first().check();
  await page.locator('.moments').first().locator('summary').click();
  assert.match(await page.locator('.moments').first().textContent(), /3\.2 s\s*The lids go down/);
  await page.locator('.player-play').first().click();
  await until(page, () => document.getElementById('announce')?.textContent?.includes('Now with your eyes shut'));
  await until(page, () => document.getElementById('announce')?.textContent?.includes('The lids go down'));
  await page.keyboard.press('Space');
  await until(page, () => Number(document.querySelector('.watch-face').textContent) >= 1);
  await page.keyboard.press('Space');
  await page.locator('.player-note', { hasText: 'The trial is over.' }).first().waitFor();
  await fill(page, { score: '4' });
  await save(page);
  await page.waitForSelector('.reason');
  assert.match(await page.locator('.reason table').first().textContent(), /described form/);
  const { answers } = await page.evaluate(async where => (await fetch(where)).json(), `/api${sitting.replace('sitting', 'sittings')}`);
  assert.equal(answers.find(one => one.case === 'pb-lark' && one.item === '6').stopwatch[0].form, 'described');
  await page.context().close();
});

test('moments that come in one frame are announced together', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/6');
  const said = await page.evaluate(async () => {
    const { announce } = await import(performance.getEntriesByType('resource').map(one => one.name).find(name => /\/js\/dom\.[^/]*js$/.test(name)) ?? '');
    const place = document.getElementById('announce');
    announce('He stands.');
    announce('The foot lifts.');
    const first = place?.textContent;
    await new Promise(resolve => setTimeout(resolve, 20));
    announce('The foot comes down.');
    return [first, place?.textContent];
  });
  assert.deepEqual(said, ['He stands. The foot lifts.', 'The foot comes down.']);
  await page.context().close();
});

test('a screen reader is told of the watch when it starts and when it stops, and of the picture nothing that scores', async () => {
  const page = await open(browser, site);
  await signIn(page, 'quiet-otter');
  await page.waitForSelector('.cards');
  await toItem(page, sitting, 'pb-lark/9');
  const cdp = await page.context().newCDPSession(page);
  const nodes = async () => (await cdp.send('Accessibility.getFullAXTree')).nodes.filter(node => !node.ignored);
  const named = (/** @type {any[]} */ all, ...roles) => all.filter(node => roles.includes(node.role?.value)).map(node => node.name?.value ?? '');
  const before = await nodes();
  const controls = named(before, 'button', 'link', 'checkbox', 'radio', 'textbox', 'combobox', 'spinbutton', 'DisclosureTriangle');
  assert.ok(controls.length > 30 && controls.every(name => name.trim()), 'every control has a name');
  assert.deepEqual([...new Set(named(before, 'image'))], ['The child, seen from the front']);
  assert.deepEqual(named(before, 'article'), ['Trial 1', 'Trial 2']);
  // Whoever does not see the picture meets the ways round it before the picture's own controls (WCAG 2.2, 1.3.2 and 2.4.3).
  assert.deepEqual(await page.locator('.trial').first().locator('input, summary, button').evaluateAll(all => all.map(one => (one.closest('label') ?? one).textContent.split(':')[0].trim())),
    ['Described form', 'Captions while I time', 'The moments with their times', 'Play', 'Start', 'Reset']);

  // What live regions say from here on.
  await page.evaluate(() => {
    const spoken = /** @type {any} */ (window).spoken = [];
    const live = new MutationObserver(changes => {
      for (const node of new Set(changes.map(change => change.target.parentElement?.closest('[role=status], [aria-live]') ?? change.target)))
        if (node.textContent && node.getAttribute('aria-live') !== 'off') spoken.push(node.textContent);
    });
    live.observe(document.body, { childList: true, characterData: true, subtree: true });
  });
  const card = page.locator('.trial').first();
  await card.locator('.player-play').click();
  await card.locator('.watch-press:enabled').waitFor();
  assert.ok(await card.locator('.watch-press').evaluate(one => one === document.activeElement), 'the watch has the focus when the trial begins');
  await page.keyboard.press('Space');
  await page.waitForTimeout(1200);
  assert.ok(named(await nodes(), 'button').includes('Stop'));
  await page.keyboard.press('Space');
  await card.locator('.player-note', { hasText: 'The trial is over.' }).waitFor();
  const said = await page.evaluate(() => /** @type {any} */ (window).spoken.filter(text => /watch|seconds|\d\.\d|trial/i.test(text)));
  const reading = said.filter(text => /^\d+\.\d\d seconds\./.test(text));
  assert.equal(said.filter(text => text === 'The watch runs.').length, 1);
  assert.equal(reading.length, 1, `the reading is said once: ${said.join(' | ')}`);
  assert.ok(await card.locator('.watch-face').evaluate(one => one === document.activeElement), 'the focus rests on the reading, not on a button that went out');
  await page.context().close();
});
