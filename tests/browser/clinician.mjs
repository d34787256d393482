// The clinician decides on one student and finalises for another, from the first
// screen alone: by hand, on a desktop, without scripts. How many pages come up, how
// much is pressed and how much is filled in is bounded, so that no step creeps in.
// On the way the review is measured: how tall it is, and that the decision stands
// beside whatever is being read.

import { join } from 'node:path';

import { check } from './report.mjs';
import { signIn } from './person.mjs';

const DESKTOP = { width: 1280, height: 900 };
// What each takes at the least: the link, the choice, the signature; and to finalise
// the signature on the prescription, with its own password.
const DECIDING = { pages: 2, presses: 3, fields: 3 };
const FINALISING = { pages: 3, presses: 4, fields: 4 };
// The question, every trial and the clinic's figures, in so many heights of the screen.
const MOST_SCREENS = 5;

class Hand {
  constructor(page) {
    this.page = page;
    this.done = { pages: 0, presses: 0, fields: 0 };
  }

  async press(target) {
    this.done.presses += 1;
    const before = this.page.url();
    await target.click();
    await this.page.waitForLoadState();
    if (this.page.url() !== before) this.done.pages += 1;
  }

  // Sends a form, which may lead to the page it came from.
  async send(target) {
    this.done.presses += 1;
    this.done.pages += 1;
    await Promise.all([this.page.waitForNavigation(), target.click()]);
  }

  async fill(label, words) {
    this.done.fields += 1;
    await this.page.getByLabel(label, { exact: true }).fill(words);
  }

  over(most) {
    return Object.entries(this.done)
      .filter(([what, count]) => count > most[what])
      .map(([what, count]) => `${count} ${what}, ${most[what]} at the most`);
  }
}

const inDays = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);
const stages = (page) => page.locator('.stages').innerText();

async function toReview(hand, student) {
  await hand.page.goto('/today');
  const row = hand.page.locator('main li', { hasText: student });
  await hand.press(row.getByRole('link', { name: 'Decide on the training summary' }));
}

async function decide(hand, person, choice) {
  await hand.press(hand.page.getByLabel(choice, { exact: true }));
  await hand.fill('Reason', 'The end of the line is lost; more practice, same device.');
  await hand.fill('Next look on', inDays(60));
  await hand.fill('Your password', person.password);
  await hand.send(hand.page.getByRole('button', { name: 'Sign the decision' }));
}

// The review as a desktop shows it: not taller than so many screens, no table turned
// into lines, nothing cut off at the side, and at each heading the signature in view.
async function beside(page, screenshots, student) {
  const faults = [];
  if (screenshots) await page.screenshot({ path: join(screenshots, `review-of-${student}.png`), fullPage: true });
  const tall = await page.evaluate(() => document.querySelector('.beside-read').scrollHeight / innerHeight);
  if (tall > MOST_SCREENS) faults.push(`${tall.toFixed(1)} screens tall, ${MOST_SCREENS} at the most`);
  const headings = page.locator('.beside-read h2');
  if ((await headings.count()) < 4) faults.push(`only ${await headings.count()} parts to read`);
  for (const heading of await headings.all()) {
    const seen = await heading.evaluate((one) => {
      one.scrollIntoView({ block: 'start' });
      const place = [...document.querySelectorAll('.decide button')].at(-1).getBoundingClientRect();
      return place.top >= 0 && place.bottom <= innerHeight;
    });
    if (!seen) faults.push(`no signature in view at “${await heading.innerText()}”`);
  }
  faults.push(
    ...(await page.$$eval('.beside-read .table-frame', (all) =>
      all
        .filter((frame) => frame.offsetParent && frame.scrollWidth > frame.clientWidth + 1)
        .map((frame) => `cut off at the side: ${frame.innerText.slice(0, 60)}`),
    )),
    ...(await page.$$eval('.beside-read :is(.section, .grid) > .table-frame > .table', (all) =>
      all
        .filter((table) => table.offsetParent && getComputedStyle(table).display !== 'table')
        .map((table) => `a table turned into lines: ${table.innerText.slice(0, 60)}`),
    )),
  );
  await page.evaluate(() => scrollTo(0, 0));
  return faults;
}

export async function closesTheLoop(browser, demo, screenshots) {
  const person = demo.people.find((one) => one.role === 'clinician');
  const seat = await signIn(browser, demo, person, DESKTOP, { javaScriptEnabled: false });
  const { page } = seat;

  const first = new Hand(page);
  await toReview(first, 'Kwame');
  check('the review of a student on the near track stands beside its decision', await beside(page, screenshots, 'kwame'));
  await decide(first, person, 'Keep going');
  let faults = first.over(DECIDING);
  if (!/Near: training on loan/i.test(await stages(page))) faults.push(`the stage is ${await stages(page)}`);
  if (!(await page.locator('main').innerText()).includes('Keep going, near track')) faults.push('the decision is not shown');
  check(`the clinician decides in ${Object.entries(first.done).map(([what, count]) => `${count} ${what}`).join(', ')}`, faults);

  const second = new Hand(page);
  await toReview(second, 'Saoirse');
  check('the review of a student with two examinations stands beside its decision', await beside(page, screenshots, 'saoirse'));
  await decide(second, person, 'Finalise');
  if (screenshots) await page.screenshot({ path: join(screenshots, 'prescription-to-sign.png'), fullPage: true });
  await second.fill('Your password', person.password);
  await second.send(page.getByRole('button', { name: 'Sign the prescription' }));
  faults = second.over(FINALISING);
  if (!/Near: prescribed, awaiting the device/i.test(await stages(page))) faults.push(`the stage is ${await stages(page)}`);
  const signed = await page.locator('main').innerText();
  for (const said of ['In force', 'Licence:', 'Never look at the sun']) if (!signed.includes(said)) faults.push(`it does not say ${said}`);
  check(`the clinician finalises in ${Object.entries(second.done).map(([what, count]) => `${count} ${what}`).join(', ')}`, faults);
  await seat.close();
}
