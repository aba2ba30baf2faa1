// What a browser makes of a page: violations of accessibility rules, requests that leave it,
// scripts in it, and whether it can be read at 200 % and on a narrow screen.
//   node page.mjs CHROMIUM FOLDER PAGE...   pictures of each page go into FOLDER
import {createRequire} from 'module';
import path from 'path';
import {pathToFileURL} from 'url';

const require = createRequire(process.cwd() + '/');
const {chromium} = require('playwright-core');
const axe = require('axe-core');
const [executablePath, folder, ...pages] = process.argv.slice(2);
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

const browser = await chromium.launch({executablePath, args: ['--no-sandbox']});
const found = [];
for (const file of pages) {
    // The page's own rules forbid scripts; they are set aside for the check alone.
    const context = await browser.newContext({bypassCSP: true, offline: true});
    const page = await context.newPage();
    const requests = [];
    page.on('request', request => requests.push(request.url()));
    await page.goto(pathToFileURL(path.resolve(file)).href);
    const scripts = await page.evaluate(() => document.scripts.length);
    const picture = path.join(folder, path.basename(file, '.html'));
    const wide = [];
    // 320 px is 1280 at 400 %, the narrowest that has to do; 640 is 1280 at 200 %.
    for (const width of [1280, 640, 320]) {
        await page.setViewportSize({width, height: 900});
        wide.push(await page.evaluate(() => document.documentElement.scrollWidth));
        await page.screenshot({path: picture + '-' + width + '.png', fullPage: true});
    }
    await page.setViewportSize({width: 1280, height: 900});
    await page.evaluate(axe.source);
    const result = await page.evaluate(
        values => axe.run(document, {runOnly: {type: 'tag', values}}), tags);
    found.push({
        file,
        violations: result.violations.map(one => one.id),
        outside: requests.filter(url => !/^(file|data):/.test(url)),
        scripts, wide,
        text: await page.evaluate(() => document.body.innerText),
    });
    await context.close();
}
await browser.close();
console.log(JSON.stringify(found));
