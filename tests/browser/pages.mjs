// SPDX-License-Identifier: GPL-3.0-or-later
// pages.mjs CHROMIUM FOLDER : every page of a folder in a browser. Prints what
// is wrong, or how much was looked at; exits with 1 where anything is wrong.
import {readdirSync, readFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import {join} from 'node:path';
import {pathToFileURL} from 'node:url';

// Modules are where the test has them, not beside this file.
const require = createRequire(join(process.cwd(), 'here.js'));
const {chromium} = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const [executablePath, folder] = process.argv.slice(2);
const wrong = [];
let looked = 0;

const check = (ok, page, what) => {
  looked += 1;
  if (!ok) wrong.push(`${page}: ${what}`);
};

async function open(browser, name, options = {}) {
  const context = await browser.newContext(
      {viewport: {width: 1000, height: 900}, ...options});
  const page = await context.newPage();
  const asked = [];
  const said = [];
  page.on('request', (r) => asked.push(r.url()));
  page.on('console', (m) => {
    if (m.type() === 'error' || m.type() === 'warning') said.push(m.text());
  });
  page.on('pageerror', (e) => said.push(String(e)));
  page.on('dialog', (d) => {
    said.push(`dialog: ${d.message()}`);
    d.dismiss();
  });
  await page.goto(pathToFileURL(join(folder, name)).href);
  return {context, page, asked, said};
}

async function axeFinds(page) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run());
  return found.violations
      .filter((v) => v.impact === 'serious' || v.impact === 'critical')
      .map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3)}`);
}

async function lookAt(browser, name, colorScheme) {
  const {context, page, asked, said} = await open(browser, name, {colorScheme});
  check(asked.length === 1, name, `asks for ${asked.slice(1)}`);
  const data = await page.evaluate(() =>
    JSON.parse(document.getElementById('charts').textContent).length);
  const canvases = await page.locator('.is-live canvas').count();
  check(canvases === data, name, `${canvases} of ${data} charts are live`);
  const blank = await page.evaluate(() =>
    [...document.querySelectorAll('.is-live canvas')].filter((c) => {
      const {data} = c.getContext('2d').getImageData(0, 0, c.width, c.height);
      let drawn = 0;
      for (let i = 3; i < data.length; i += 4) drawn += data[i] > 0;
      return drawn < 1000;
    }).length);
  check(blank === 0, name, `${colorScheme}: ${blank} charts are blank`);
  await onColours(page, `${name}, ${colorScheme}`);
  const finds = await axeFinds(page);
  check(finds.length === 0, name, `${colorScheme}: ${finds.join('\n')}`);
  check(said.length === 0, name, `says ${said.join('\n')}`);
  await context.close();
  return data;
}

// What is read out is in the tables below, figure by figure: rounded alike.
async function readAsTold(figure, said, name) {
  const {told, names, skipped} = await figure.evaluate((f) => {
    const chart = JSON.parse(document.getElementById('charts').textContent)
        .find((c) => 'chart-' + c.id === f.id);
    return {told: [...f.querySelectorAll('details th, details td')]
        .map((c) => c.textContent.replace(/\s/g, '')),
    names: chart.series.flatMap((s) => [s.about, s.name]),
    // Dates are told to the second, and of many parts not each is told.
    skipped: chart.x.scale === 'date' ||
      f.querySelector('details').textContent.includes('; thinned: ')};
  });
  if (skipped) return;
  let figures = said;
  for (const n of names) if (n) figures = figures.replaceAll(n, '');
  const number = /\u2212?\d[\d\u202F]*(\.\d+)?(\u00B710[\u207B\u2070\u00B9\u00B2\u00B3\u2074-\u2079]+)?/g;
  const read = [...figures.matchAll(number)]
      .map(([m]) => m.replace(/\u202F/g, ''));
  const missing = read.filter((m) => !told.includes(m));
  check(read.length > 1 && missing.length === 0, name,
      `"${said}": ${missing} of ${read.length} figures is in no table`);
}

async function useKeys(browser, name) {
  const {context, page} = await open(browser, name);
  const figure = page.locator('figure.is-live').first();
  const output = figure.locator('output');
  await figure.locator('.plot').focus();
  await page.keyboard.press('Home');
  const first = await output.textContent();
  await page.keyboard.press('ArrowRight');
  const second = await output.textContent();
  // A figure has its unit.
  const unit = await figure.locator('.plot').evaluate((p) =>
    JSON.parse(document.getElementById('charts').textContent)
        .find((c) => 'chart-' + c.id === p.closest('figure').id)
        .x.label.split(' / ')[1] ?? '');
  check(first.includes(unit), name, `"${first}" is without ${unit}`);
  await readAsTold(figure, first, name);
  await readAsTold(figure, second, name);
  check(first !== '' && second !== '' && first !== second, name,
      `arrow keys read out "${first}", then "${second}"`);
  const picture = () => figure.locator('canvas').evaluate(
      (c) => c.toDataURL());
  const whole = await picture();
  await page.keyboard.press('+');
  await page.waitForTimeout(100);
  const closer = await picture();
  check(closer !== whole, name, 'plus does not zoom');
  await figure.getByRole('button', {name: /^all/}).click();
  await page.waitForTimeout(100);
  check(await picture() === whole, name, '"all" does not show all again');
  // Closer, the keys read on, and what they read is in view.
  await figure.locator('.plot').focus();
  const read = async (key) => {
    await page.keyboard.press(key);
    await page.waitForTimeout(50);
    return output.textContent();
  };
  const home = await read('Home');
  check(home === first, name, `Home reads "${home}", not "${first}"`);
  for (let i = 0; i < 4; ++i) await read('+');
  const next = await read('ArrowRight');
  check(next === second, name, `closer, an arrow reads "${next}"`);
  const end = await read('End');
  check(end !== next && end !== '', name, `closer, End reads "${end}"`);
  check(await read('Home') === first, name, 'closer, Home does not read again');
  await context.close();
}

async function withoutScript(browser, name) {
  const {context, page} = await open(browser, name, {javaScriptEnabled: false});
  const figures = await page.locator('figure').count();
  const stills = await page.locator('figure .still svg:visible').count();
  const empty = await page.locator('figure:not(:has(svg))').count();
  check(figures === stills + empty, name,
      `${stills} stills of ${figures} figures, ${empty} with a reason`);
  await context.close();
}

// Nothing of a table covers its neighbour, or is beyond the sheet, between A5
// and A4 less margins, in pixels of print.
async function onSheets(page, name) {
  for (const width of [500, 720]) {
    await page.setViewportSize({width, height: 900});
    const cut = await page.evaluate(() =>
      [...document.querySelectorAll('table, th, td, pre')].filter((e) =>
        e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 ||
        e.getBoundingClientRect().right > innerWidth + 1)
          .map((e) => e.textContent.slice(0, 40)));
    check(cut.length === 0, name,
        `on ${width} pixels of paper ${cut.length} are cut: ${cut[0]}`);
  }
}

// At a usual width no table of checks is cut.
async function onScreen(page, name) {
  await page.setViewportSize({width: 1200, height: 900});
  const cut = await page.evaluate(() =>
    [...document.querySelectorAll('.wide[aria-label="Checks"]')].filter((e) =>
      e.scrollWidth > e.clientWidth).length);
  check(cut === 0, name, `${cut} tables of checks are cut`);
}

async function onPaper(browser, name) {
  const {context, page} = await open(browser, name);
  await onScreen(page, name);
  await page.emulateMedia({media: 'print'});
  const live = await page.locator('.live:visible').count();
  const stills = await page.locator('.still svg:visible').count();
  const figures = await page.locator('figure:has(svg)').count();
  check(live === 0 && stills === figures, name,
      `on paper ${live} live, ${stills} stills of ${figures}`);
  await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
  const tables = await page.locator('figure table').count();
  const printed = await page.locator('figure table:visible').count();
  check(tables === printed, name, `on paper ${printed} of ${tables} tables`);
  await onSheets(page, name);
  await page.evaluate(() => dispatchEvent(new Event('afterprint')));
  const left = await page.locator('details[open]').count();
  check(left === 0, name, `${left} tables stay open after printing`);
  await context.close();
}

// Relative luminance, WCAG 2.1: what lies in what differs by it.
async function onColours(page, name) {
  const [first, second] = await page.evaluate(() => {
    const style = getComputedStyle(document.documentElement);
    return ['--first-pale', '--second-pale'].map((colour) => {
      const hex = style.getPropertyValue(colour).trim();
      const [r, g, b] = [1, 3, 5].map((i) => {
        const v = parseInt(hex.slice(i, i + 2), 16) / 255;
        return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
      });
      return 0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05;
    });
  });
  const contrast = Math.max(first / second, second / first);
  check(contrast >= 1.25, name, `allowed and accepted differ by ${contrast}`);
}

async function onTelephone(browser, name, javaScriptEnabled) {
  const {context, page} = await open(browser, name,
      {viewport: {width: 360, height: 700}, javaScriptEnabled});
  const wide = await page.evaluate(() =>
    document.documentElement.scrollWidth - innerWidth);
  check(wide <= 0, name, `is ${wide} pixels too wide`);
  // Text of stills that are seen: no smaller than a caption can be read.
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('.still svg text')].filter((t) => {
      if (t.getBoundingClientRect().width === 0) return false;
      const {a, b} = t.getScreenCTM();
      return parseFloat(getComputedStyle(t).fontSize) * Math.hypot(a, b) < 8;
    }).length);
  check(small === 0, name, `${small} texts of stills are smaller than 8 pixels`);
  await context.close();
}

const browser = await chromium.launch({executablePath,
  args: ['--no-sandbox', '--disable-gpu']});
const pages = readdirSync(folder).filter((f) => f.endsWith('.html'));
for (const name of pages) {
  const live = await lookAt(browser, name, 'light');
  await lookAt(browser, name, 'dark');
  if (live > 0) await useKeys(browser, name);
  await withoutScript(browser, name);
  await onPaper(browser, name);
  await onTelephone(browser, name, true);
  await onTelephone(browser, name, false);
}
await browser.close();
if (pages.length === 0) wrong.push('no page was there');
console.log(wrong.length ? wrong.join('\n') :
  `${pages.length} pages, ${looked} checks`);
process.exit(wrong.length ? 1 : 0);
