// Opens every page that one person can reach by links.

import { join } from 'node:path';

import { accessibility, sideways } from './rules.mjs';
import { check } from './report.mjs';
import { goTo, open, signIn } from './person.mjs';

const PHONE = { width: 390, height: 844 };
const DESKTOP = { width: 1280, height: 900 };
// Pages of one shape, such as one student's card and another's, looked at per person.
const OF_ONE_SHAPE = 2;
const MOST_PAGES = 400;

// All calculators are one template over a table.
const shapeOf = (path) =>
  path.replaceAll(/[0-9a-f]{8}-[0-9a-f-]{27}/g, '{id}').replace(/^\/calculators\/.+/, '/calculators/{word}').split('?')[0];

// How a page is looked at: at two sizes, in the dark, and in the reader's own colours.
const MANNERS = [
  { name: 'on a phone', size: PHONE, narrow: true },
  { name: 'on a desktop', size: DESKTOP },
  { name: 'in the dark', size: PHONE, colours: { colorScheme: 'dark' } },
  // The reader's own colours stand on the screen, and the engine reads ours.
  { name: 'in forced colours', size: DESKTOP, colours: { forcedColors: 'active' }, without: ['color-contrast'] },
];

export async function crawl(browser, demo, person, screenshots) {
  const who = person ? person.role : 'nobody signed in';
  const enter = ({ size, colours }) => (person ? signIn(browser, demo, person, size, colours) : open(browser, demo, size, colours));
  const seats = [];
  for (const manner of MANNERS) seats.push({ ...manner, seat: await enter(manner) });
  const phone = seats[0].seat;
  const waiting = [person ? '/today' : '/sign-in'];
  const seen = new Set(waiting);
  const shapes = new Map();
  let pages = 0;
  while (waiting.length > 0) {
    const path = waiting.shift();
    const shape = shapeOf(path);
    const before = shapes.get(shape) ?? 0;
    if (before >= OF_ONE_SHAPE) continue;
    shapes.set(shape, before + 1);
    pages += 1;
    if (pages > MOST_PAGES) throw new Error(`${who}: more than ${MOST_PAGES} pages; is there a link without end?`);
    // Colours belong to the shape: one page of it shows them.
    const manners = seats.filter((manner) => before === 0 || !manner.colours);
    await Promise.all(manners.map((manner) => lookAt(manner, path, `${who}: ${path} ${manner.name}`, screenshots)));
    for (const link of await links(phone.page, demo.address)) {
      if (!seen.has(link)) {
        seen.add(link);
        waiting.push(link);
      }
    }
    if (before === 0) await mend(phone, `${who}: ${path}`, screenshots);
  }
  check(`${who}: pages were found`, pages > 1 ? [] : [`only ${pages}`]);
  for (const { seat } of seats) await seat.close();
}

async function lookAt({ seat, narrow, without }, path, name, screenshots) {
  seat.complaints.length = 0;
  const status = await goTo(seat, path);
  const faults = status === 200 ? [] : [`answered ${status}`];
  faults.push(...(await accessibility(seat.page, without)));
  if (narrow) faults.push(...(await sideways(seat.page)));
  faults.push(...seat.complaints);
  await picture(seat, name, screenshots);
  check(name, faults);
}

async function links(page, address) {
  const found = await page.$$eval('a[href]', (all) => all.map((one) => one.href.split('#')[0]));
  const ours = found.filter((href) => href.startsWith(`${address}/`)).map((href) => href.slice(address.length));
  // Scans, papers and the empty sheet are handed out as downloads, never as a page.
  return ours.filter((path) => !/\/attachments\/|\/paper\.pdf|\/from-spreadsheet\/empty$/.test(path));
}

// Sends the page's first form as it stands; when it comes back with faults, that
// page is looked at too. A form that may be sent as it stands is left alone by
// sending it without any of its answers.
async function mend(seat, name, screenshots) {
  const form = seat.page.locator('main form[method="post"]').first();
  if ((await form.count()) === 0) return;
  await form.evaluate((found) => {
    for (const control of found.querySelectorAll('input:not([type=hidden]), textarea, select')) {
      if (control.type === 'radio' || control.type === 'checkbox') control.checked = false;
      else if (control.tagName === 'SELECT') control.selectedIndex = -1;
      else control.value = '';
    }
  });
  const [answer] = await Promise.all([seat.page.waitForNavigation(), form.evaluate((found) => found.submit())]);
  if (answer.status() !== 422) return;
  // The browser itself remarks on the status.
  const remarks = seat.complaints.filter((one) => !one.includes('status of 422'));
  const faults = [...(await accessibility(seat.page)), ...(await sideways(seat.page)), ...remarks];
  await picture(seat, `${name} to mend`, screenshots);
  check(`${name}, sent empty`, faults);
}

async function picture(seat, name, screenshots) {
  if (!screenshots) return;
  const file = name.replaceAll(/[0-9a-f]{8}-[0-9a-f-]{27}/g, 'id').replaceAll(/[^a-z0-9]+/gi, '-');
  await seat.page.screenshot({ path: join(screenshots, `${file}.png`), fullPage: true });
}
