// A classroom teacher records one observation on a phone, with the thumb alone:
// no key is pressed, and nine taps are the most.

import { join } from 'node:path';

import { accessibility } from './rules.mjs';
import { check } from './report.mjs';

const MOST_TAPS = 9;

export async function observeWithThumb(seat, screenshots) {
  const { page } = seat;
  let taps = 0;
  const tap = async (target) => {
    await target.click();
    taps += 1;
  };
  const label = (group, words) => page.getByRole('radiogroup', { name: group }).getByText(words, { exact: false }).first();

  await page.goto('/today');
  await tap(page.getByRole('link', { name: /add (an )?observation/i }).first());
  await page.waitForLoadState();
  await tap(page.getByRole('radiogroup', { name: 'What was looked at?' }).locator('label').first());
  await tap(label('Was the device out?', 'Yes'));
  const devices = page.getByRole('radiogroup', { name: 'Which device?' });
  if ((await devices.count()) > 0) await tap(devices.locator('label').first());
  await tap(label('How much was right?', 'Most'));
  const typed = await page.locator('input[type=text], textarea').evaluateAll((all) => all.filter((one) => one.value).map((one) => one.name));
  if (screenshots) await page.screenshot({ path: join(screenshots, 'observation-filled-in.png'), fullPage: true });
  await tap(page.getByRole('button', { name: 'Save', exact: true }));
  await page.waitForLoadState();

  const faults = await accessibility(page);
  if (!/\/observations\/[0-9a-f-]{36}$/.test(page.url())) faults.push(`not saved: ${page.url()}\n${await page.locator('main').innerText()}`);
  if (taps > MOST_TAPS) faults.push(`${taps} taps`);
  if (typed.length > 0) faults.push(`typed into ${typed}`);
  const sentence = (await page.locator('main .lede').count()) > 0 ? await page.locator('main .lede').first().innerText() : '';
  if (sentence.length < 10) faults.push('no sentence says what it means');
  if (screenshots) await page.screenshot({ path: join(screenshots, 'observation-saved.png'), fullPage: true });
  check(`a classroom teacher records an observation on a phone in ${taps} taps`, faults);
}
