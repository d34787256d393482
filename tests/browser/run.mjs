// The demo in a real browser: every page that each role can reach, at phone and
// desktop size, held against accessibility rules. Run by ./tests/run browser.
//
// Knows the program only by what it prints and what its pages show.

import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';

import { closesTheLoop } from './clinician.mjs';
import { crawl } from './crawl.mjs';
import { startDemo } from './demo.mjs';
import { observeWithThumb } from './observation.mjs';
import { failed, passed, report } from './report.mjs';
import { signIn } from './person.mjs';

const scratch = mkdtempSync(join(tmpdir(), 'farpoint-browser-'));
// Pictures are for people to look at; where nobody will, they only cost time.
const screenshots = process.env.SCREENSHOTS ?? null;
if (screenshots) mkdirSync(screenshots, { recursive: true });

const flags = [
  '--headless=new', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync', '--disable-dev-shm-usage',
];

let demo;
let browser;
try {
  demo = await startDemo(process.env.FARPOINT ?? 'target/debug/farpoint', join(scratch, 'data'));
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: flags });
  if (demo.people.length < 5) failed('the demo prints a sign-in for each role', JSON.stringify(demo.people));
  else passed('the demo prints a sign-in for each role');

  // First, while everything is as the demo made it: the walk below sends forms.
  const teacher = demo.people.find((person) => person.role === 'classroom teacher');
  await observeWithThumb(await signIn(browser, demo, teacher, { width: 390, height: 844 }), screenshots);
  await crawl(browser, demo, null, screenshots);
  for (const person of demo.people) {
    await crawl(browser, demo, person, screenshots);
  }
  // Signs what the walk above wants to see waiting, so on a demo of its own.
  await demo.stop();
  demo = await startDemo(process.env.FARPOINT ?? 'target/debug/farpoint', join(scratch, 'another'));
  await closesTheLoop(browser, demo, screenshots);
} catch (error) {
  failed('the run reaches its end', error.stack ?? String(error));
} finally {
  await browser?.close();
  await demo?.stop();
  rmSync(scratch, { recursive: true, force: true });
}
process.exitCode = report();
