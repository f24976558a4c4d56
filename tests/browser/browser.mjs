// Debian's Chromium, and pages that remember what went wrong in them.

import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { after, before } from 'node:test';
import { chromium } from 'playwright-core';
import { Site, passphrase, root } from './site.mjs';

export const shots = process.env.EVENHAND_SHOTS ?? path.join(root, 'build/browser');
fs.mkdirSync(shots, { recursive: true });

const axeText = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

export function launch() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
      '--disable-component-update', '--disable-sync'],
  });
}

/**
 * A site with a group, and a browser, for all tests of a file: `take` gets both before the first, and does what else
 * they need. The options are those of the program.
 */
export function withSite(take, options) {
  let site, browser;
  before(async () => {
    site = await Site.start(options);
    await site.prepare();
    browser = await launch();
    await take({ site, browser });
  });
  after(async () => {
    await browser?.close();
    await site?.stop();
  });
}

/**
 * A page in a context of its own. `page.faults` gathers errors of scripts and everything that the content
 * security policy refused.
 */
export async function open(browser, site, options = {}) {
  const { width = 1280, height = width < 500 ? 740 : 900, ...more } = options;
  const context = await browser.newContext({ baseURL: site.base, viewport: { width, height }, ...more });
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', error => page.faults.push(`script: ${error.message}`));
  page.on('console', message => {
    if (/Content Security Policy|Trusted|violat/i.test(message.text())) page.faults.push(message.text());
  });
  page.setDefaultTimeout(30000);
  return page;
}

/** Waits until something holds in the page. (Playwright's own waitForFunction is refused by the site's policy.) */
export async function until(page, holds, given, most = 20000) {
  const end = Date.now() + most;
  while (!await page.evaluate(holds, given)) {
    if (Date.now() > end) throw new Error(`never came true: ${holds}`);
    await page.waitForTimeout(50);
  }
}

/** Joins through the form, as a student does. */
export async function join(page, site, rater) {
  await page.goto('/join');
  await page.fill('#code', site.code);
  await page.fill('#rater', rater);
  await page.fill('#passphrase', passphrase);
  await page.click('button[type=submit]');
  await page.waitForSelector('.cards');
}

export async function signIn(page, rater, words = passphrase) {
  await page.goto('/sign-in');
  await page.fill('#rater', rater);
  await page.fill('#passphrase', words);
  await page.click('button[type=submit]');
}

/** Begins the set of that title from the first page; gives the sitting's address. */
export async function begin(page, title) {
  await page.goto('/');
  await page.locator('.card', { hasText: title }).locator('button').click();
  await page.waitForURL('**/sitting/*');
  await page.waitForSelector('.scoring, .reason');
  return new URL(page.url()).pathname;
}

export async function toItem(page, sitting, step) {
  await page.goto(`${sitting}#${step}`);
  await page.reload();
  await page.waitForSelector('.scoring, .reason');
}

/** Picks a score (or "status:refused"), a trial, and facts by the observation's id; numbers are typed. */
export async function fill(page, { trial = null, facts = {}, score }) {
  if (trial !== null) await page.check(`input[name=which][value="${trial}"]`);
  for (const [id, value] of Object.entries(facts)) {
    const number = page.locator(`#see-${id}`);
    const fold = page.locator('.seen details.fold');
    if (await fold.count() && !await fold.evaluate(one => one.open) && await fold.locator(`#field-${id}`).count())
      await fold.locator('summary').click();
    if (await number.count()) await number.fill(String(value));
    else await page.check(`input[name="see-${id}"][value="${value}"]`);
  }
  if (score.startsWith('status:')) await page.locator('.score details.fold > summary').click();
  await page.check(`input[name=score][value="${score}"]`);
}

export async function save(page) {
  await page.click('button.save');
}

/** The kinds of slip that the reason names. */
export async function slips(page) {
  await page.waitForSelector('.reason');
  return page.locator('.slip').evaluateAll(all => all.map(one => one.className.replace('slip ', '')));
}

/**
 * Plays the trial of that place and presses the watch with the space bar when the figure's clock shows the two
 * times. Resolves after the trial has ended.
 */
export async function time(page, place, start, stop) {
  const card = page.locator('.trial').nth(place);
  await card.locator('.player-play').click();
  await card.locator('.watch-press:enabled').waitFor();
  const began = Date.now();
  const at = async seconds => {
    await page.waitForTimeout(Math.max(0, began + seconds * 1000 - Date.now()));
    await page.keyboard.press('Space');
  };
  await at(start);
  await at(stop);
  await card.locator('.player-note', { hasText: 'The trial is over.' }).waitFor();
}

/** Answers what is still open of a sitting, past the page: every item with the same level. */
export async function answerRest(page, sitting, value = '2') {
  return page.evaluate(async ([where, level]) => {
    const { steps } = await (await fetch(where)).json();
    let done = 0;
    for (const step of steps) {
      if (step.revision > 0) continue;
      const body = { trial: null, status: 'observed', value: level, observations: {}, stopwatch: [], sureness: 0.75, at: new Date().toISOString() };
      const answer = await fetch(`${where}/answers/${step.case}/${step.item}/1`, { method: 'PUT',
        headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
      if (!answer.ok) throw new Error(`${step.case}/${step.item}: ${answer.status} ${await answer.text()}`);
      done += 1;
    }
    return done;
  }, [`/api${sitting.replace('sitting', 'sittings')}`, value]);
}

/** What axe-core finds; needs a context with bypassCSP. */
export async function axe(page) {
  await page.evaluate(axeText);
  const found = await page.evaluate(() => /** @type {any} */ (window).axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
  }));
  return found.violations.map(one => `${one.id}: ${one.help} (${one.nodes.map(node => node.target.join(' ')).slice(0, 3).join('; ')})`);
}

export async function shot(page, name) {
  await page.screenshot({ path: path.join(shots, `${name}.png`), fullPage: true });
}

/** What has the focus, in words. */
export const focused = page => page.evaluate(() => document.activeElement === document.body ? 'nothing'
  : (document.activeElement.textContent || document.activeElement.id).trim());

/** Opens every fold, and waits for what each of them loads. */
export async function unfold(page) {
  await page.evaluate(() => document.querySelectorAll('main details').forEach(fold => { fold.open = true; }));
  await page.waitForLoadState('networkidle');
}

/** Cells of records that lie on each other, or whose content (their head too) leaves them. */
export const overlaps = page => page.evaluate(() => [...document.querySelectorAll('table.records')].flatMap(table => {
  const cells = [...table.querySelectorAll('tbody th, tbody td')].map(cell => ({ cell, box: cell.getBoundingClientRect() })).filter(one => one.box.width);
  const name = one => `${table.caption?.textContent}: ${one.cell.dataset.head ?? one.cell.textContent}`;
  const out = cells.filter(({ cell }) => cell.scrollHeight > cell.clientHeight + 1 || cell.scrollWidth > cell.clientWidth + 1).map(one => `${name(one)} does not fit`);
  const on = cells.flatMap((a, i) => cells.slice(i + 1).filter(b => a.box.left < b.box.right - 1 && b.box.left < a.box.right - 1
    && a.box.top < b.box.bottom - 1 && b.box.top < a.box.bottom - 1).map(b => `${name(a)} lies on ${name(b)}`));
  return [...out, ...on];
}));
