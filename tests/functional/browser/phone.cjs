// A phone in somebody's hand: Debian's Chromium, driven line by line over standard input. Each line
// is a JSON list, the name of an act and its arguments; each answer one line of JSON. Decides
// nothing: the test beside it does.
'use strict';
const readline = require('node:readline');
const { chromium } = require('../node_modules/playwright-core');
const axe = require('../node_modules/axe-core');

const state = { browser: null, page: null, complaints: [] };

const acts = {
  async open(options) {
    if (!state.browser) {
      state.browser = await chromium.launch({
        executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
        timeout: 60000, args: ['--no-sandbox', '--disable-gpu', '--disable-dev-shm-usage'],
      });
    }
    if (state.page) await state.page.context().close();
    const context = await state.browser.newContext({
      viewport: { width: options.width || 360, height: 740 }, hasTouch: true, isMobile: true,
      javaScriptEnabled: options.script !== false, colorScheme: options.scheme || 'light',
      ignoreHTTPSErrors: true,
    });
    state.page = await context.newPage();
    state.page.setDefaultTimeout(60000);
    state.complaints = [];
    state.page.on('console', (message) => {
      if (['error', 'warning'].includes(message.type())) state.complaints.push(message.text());
    });
    state.page.on('pageerror', (error) => state.complaints.push(String(error)));
  },
  async go(url) {
    const answer = await state.page.goto(url, { waitUntil: 'load' });
    return answer.status();
  },
  url: async () => state.page.url(),
  text: async () => state.page.innerText('body'),
  // As the server sends it, with this phone's cookie: not as the browser has mended it.
  source: async () => (await state.page.request.get(state.page.url())).text(),
  // By its accessible name, and that alone: what a screen reader would press.
  async press(name) {
    // Every button here sends a form: it is pressed once the next page stands.
    await Promise.all([
      state.page.waitForEvent('load'),
      state.page.getByRole('button', { name, exact: true }).first().tap(),
    ]);
  },
  async press_last(name) {
    await Promise.all([
      state.page.waitForEvent('load'),
      state.page.getByRole('button', { name, exact: true }).last().tap(),
    ]);
  },
  async press_link(name) {
    await Promise.all([
      state.page.waitForEvent('load'),
      state.page.getByRole('link', { name, exact: true }).first().tap(),
    ]);
  },
  async open_details(name) { await state.page.getByText(name, { exact: true }).first().tap(); },
  async point(selector) {
    await state.page.locator(selector).first().scrollIntoViewIfNeeded();
    const box = await state.page.locator(selector).first().boundingBox();
    if (!box) return false;  // replaced meanwhile
    // From elsewhere: where the pointer already is, nothing would move.
    await state.page.mouse.move(box.x + box.width / 3, box.y + box.height / 2);
    await state.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    return true;
  },
  seen: async (selector) => state.page.locator(selector).first().isVisible(),
  // The same without a finger, which would leave its mark on a picture.
  async unfold(name) {
    await state.page.getByText(name, { exact: true }).first().evaluate((each) => { each.closest('details').open = true; });
  },
  async choose(label, text) {
    await state.page.getByLabel(label, { exact: true }).first().selectOption({ label: text });
  },
  value: async (label) => state.page.getByLabel(label, { exact: true }).first().inputValue(),
  count: async (selector) => state.page.locator(selector).count(),
  async count_renewals() {
    await state.page.evaluate(() => {
      window.renewals = 0;
      document.addEventListener('renewed', () => { window.renewals += 1; });
    });
  },
  renewals: async () => state.page.evaluate(() => window.renewals),
  async wait_for(selector) { await state.page.locator(selector).first().waitFor(); },
  async buttons() {
    return state.page.getByRole('button').evaluateAll((all) =>
      all.filter((each) => each.checkVisibility()).map((each) => each.innerText));
  },
  // As if the last touch lay so long ago. The page goes by the clock alone there.
  async pass_time(ms) {
    await state.page.evaluate((more) => { const now = Date.now; Date.now = () => now() + more; }, ms);
  },
  // The fewest of these that there ever are from now on, after each change of the page.
  async count_fewest(selector) {
    await state.page.evaluate((what) => {
      const look = () => { window.fewest = Math.min(window.fewest ?? Infinity, document.querySelectorAll(what).length); };
      look();
      new MutationObserver(look).observe(document, { childList: true, subtree: true });
    }, selector);
  },
  fewest: async () => state.page.evaluate(() => window.fewest),
  fill: async (label, value) => state.page.getByLabel(label, { exact: true }).first().fill(value),
  tick: async (label) => state.page.getByLabel(label).check(),
  async wait_text(text) {
    await state.page.getByText(text).first().waitFor();
  },
  async shot(file) { await state.page.screenshot({ path: file, fullPage: true }); },
  // The page from its top, or from that element on.
  async shot_top(file, height, from) {
    const y = from ? await state.page.evaluate((what) =>
      document.querySelector(what).getBoundingClientRect().top + scrollY, from) : 0;
    await state.page.setViewportSize({ width: 360, height });
    await state.page.evaluate((top) => scrollTo(0, top), y);
    await state.page.screenshot({ path: file });
    await state.page.setViewportSize({ width: 360, height: 740 });
  },
  complaints: async () => state.complaints,
  // What can be pressed and is smaller than 44 px, or hangs over the edge of the screen.
  async cramped() {
    return state.page.evaluate(() => {
      const small = [...document.querySelectorAll('button, summary, a, select, input:not([type=hidden]):not([type=checkbox])')]
        .filter((each) => each.checkVisibility())
        .map((each) => [each, each.getBoundingClientRect()])
        .filter(([, box]) => box.height < 44 || box.width < 24)
        .map(([each, box]) => `${each.tagName} ${each.innerText}: ${box.width}x${box.height}`);
      const wide = document.documentElement.scrollWidth > document.documentElement.clientWidth;
      return small.concat(wide ? ['the page is wider than the screen'] : []);
    });
  },
  async axe() {
    await state.page.evaluate(axe.source);
    const found = await state.page.evaluate(() => window.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    }));
    return found.violations.map((each) =>
      `${each.id}: ${each.help}: ${each.nodes.map((node) => node.html).join(' ')}`);
  },
};

(async () => {
  for await (const line of readline.createInterface({ input: process.stdin })) {
    const [name, ...rest] = JSON.parse(line);
    let answer;
    try {
      answer = { ok: await acts[name](...rest) ?? null };
    } catch (error) {
      answer = { error: String(error) };
    }
    process.stdout.write(JSON.stringify(answer) + '\n');
  }
  if (state.browser) await state.browser.close();
})();
