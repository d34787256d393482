// A classroom teacher records one observation on a phone, with the thumb alone.

import { join } from 'node:path';

import { accessibility } from './rules.mjs';
import { check } from './report.mjs';

const MOST_TAPS = 9;

export async function observeWithThumb(seat, screenshots) {
  check('a classroom teacher records an observation on a phone', ['the page is not built yet']);
  await seat.page.screenshot({ path: join(screenshots, 'observation.png'), fullPage: true });
  void accessibility;
  void MOST_TAPS;
}
