// The budgets, measured from outside on the program as it is shipped. Run by
// ./tests/budget; prints a table and fails only when a page cannot be opened or
// something is asked of another host.
//
// Knows the program by what it prints and what its pages show.

import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';

import { startDemo } from './demo.mjs';

const program = process.env.FARPOINT ?? 'target/release/farpoint';
const rounds = Number(process.env.ROUNDS ?? 15);
const STARTS = 7;
const MOST_PAGES = 2000;
const BUDGET = { start: 1000, memory: 64, page: 20, load: 60 };

// One connection that stays open, as a browser keeps it.
const agent = new http.Agent({ keepAlive: true, maxSockets: 1 });

function ask(address, path, { cookie = '', form } = {}) {
  const body = form && new URLSearchParams(form).toString();
  const headers = { 'accept-encoding': 'gzip', cookie };
  if (body !== undefined) {
    Object.assign(headers, { 'content-type': 'application/x-www-form-urlencoded', origin: address });
    headers['content-length'] = Buffer.byteLength(body);
  }
  const began = performance.now();
  return new Promise((resolve, reject) => {
    const request = http.request(new URL(path, address), { agent, method: form ? 'POST' : 'GET', headers }, (answer) => {
      const parts = [];
      answer.on('data', (part) => parts.push(part));
      answer.on('error', reject);
      answer.on('end', () => {
        const raw = Buffer.concat(parts);
        const took = performance.now() - began;
        const plain = answer.headers['content-encoding'] === 'gzip' ? gunzipSync(raw) : raw;
        const head = answer.rawHeaders.join('  ').length;
        resolve({ status: answer.statusCode, headers: answer.headers, bytes: raw.length, head, took, text: plain.toString('utf8') });
      });
    });
    request.on('error', reject);
    request.end(body);
  });
}

const attribute = (tag, name) => tag.match(new RegExp(`\\s${name}="([^"]*)"`))?.[1]?.replaceAll('&amp;', '&').replaceAll('&#38;', '&');

// Every hidden field of the form that is sent to this address.
function hidden(html, action) {
  const form = [...html.matchAll(/<form[\s\S]*?<\/form>/g)].map(([whole]) => whole).find((whole) => attribute(whole, 'action') === action);
  if (form === undefined) throw new Error(`no form is sent to ${action}`);
  const fields = [...form.matchAll(/<input[^>]*type="hidden"[^>]*>/g)].map(([tag]) => [attribute(tag, 'name'), attribute(tag, 'value') ?? '']);
  return Object.fromEntries(fields);
}

const kept = (answer) => (answer.headers['set-cookie'] ?? []).map((line) => line.split(';')[0]).join('; ');

async function signIn(address, name, password) {
  const page = await ask(address, '/sign-in');
  const form = { ...hidden(page.text, '/sign-in'), sign_in: name, password };
  const answer = await ask(address, '/sign-in', { cookie: kept(page), form });
  if (answer.headers.location !== '/today') throw new Error(`${name} could not sign in: ${answer.status}`);
  return kept(answer);
}

async function enterPasswordAgain(address, cookie, password) {
  const page = await ask(address, '/confirm', { cookie });
  const form = { ...hidden(page.text, '/confirm'), reason: 'measuring every page', password };
  await ask(address, '/confirm', { cookie, form });
}

// Every page this person can reach by links.
async function crawl(address, cookie) {
  const pages = ['/today'];
  const opened = [];
  for (let at = 0; at < pages.length; at += 1) {
    if (pages.length > MOST_PAGES) throw new Error(`more than ${MOST_PAGES} pages; is there a link without end?`);
    const answer = await ask(address, pages[at], { cookie });
    if (answer.status === 303) {
      if (!pages.includes(answer.headers.location)) pages.push(answer.headers.location);
      continue;
    }
    if (answer.status !== 200) throw new Error(`${pages[at]} answered ${answer.status}`);
    abroad(answer.text, address, pages[at]);
    opened.push(pages[at]);
    for (const [, found] of answer.text.matchAll(/<a\s[^>]*href="([^"]+)"/g)) {
      const to = new URL(found.replaceAll('&amp;', '&').replaceAll('&#38;', '&'), new URL(pages[at], address));
      const path = to.pathname + to.search;
      if (to.origin === address && !pages.includes(path)) pages.push(path);
    }
  }
  return opened;
}

// Whatever a browser would load by itself must come from here.
const loaded = (html) =>
  [...html.matchAll(/<(?:link|script|img|iframe|source|video|audio|object|embed)\s[^>]*>/g)]
    .filter(([tag]) => attribute(tag, 'rel') !== 'help')
    .map(([tag]) => attribute(tag, 'src') ?? attribute(tag, 'href') ?? attribute(tag, 'data'))
    .filter((found) => found !== undefined);
const elsewhere = new Set();

function abroad(text, address, path) {
  for (const found of [...loaded(text), ...[...text.matchAll(/url\(["']?([^"')]+)/g)].map(([, inside]) => inside)]) {
    if (found.startsWith('data:')) continue;
    if (new URL(found, new URL(path, address)).origin !== address) elsewhere.add(`${path} loads ${found}`);
  }
}

// Document, style, script and the fonts that plain English text asks for.
async function firstLoad(address) {
  const page = await ask(address, '/sign-in');
  const parts = [['document', page]];
  for (const path of new Set(loaded(page.text))) {
    const part = await ask(address, path);
    parts.push([path.split('?')[0], part]);
    if (!part.headers['content-type']?.startsWith('text/css')) continue;
    abroad(part.text, address, path);
    for (const [face] of part.text.matchAll(/@font-face\s*{[^}]*}/g)) {
      // A browser loads a face only for letters in its range.
      if (face.includes('unicode-range') && !face.includes('U+0000-')) continue;
      const [, font] = face.match(/url\(["']?([^"')]+)/);
      const where = new URL(font, new URL(path, address)).pathname;
      if (parts.some(([name]) => name === where)) continue;
      parts.push([where, await ask(address, where)]);
    }
  }
  return parts.map(([name, part]) => ({ name, bytes: part.bytes + part.head, status: part.status }));
}

function memory(pid) {
  const status = readFileSync(`/proc/${pid}/status`, 'utf8');
  const of = (name) => Number(status.match(new RegExp(`${name}:\\s+(\\d+) kB`))[1]) / 1024;
  return { now: of('VmRSS'), most: of('VmHWM') };
}

const part = (sorted, share) => sorted[Math.min(sorted.length - 1, Math.ceil(sorted.length * share) - 1)];
const rank = (values) => [...values].sort((one, other) => one - other);
const shapeOf = (path) => path.replaceAll(/[0-9a-f]{8}-[0-9a-f-]{27}/g, '{id}');

const rows = [];
const row = (what, found, budget) => rows.push([what, found, budget]);

async function started(data) {
  const began = performance.now();
  const demo = await startDemo(program, data);
  for (;;) {
    const answer = await ask(demo.address, '/sign-in').catch(() => undefined);
    if (answer?.status === 200) break;
  }
  return { demo, took: performance.now() - began };
}

const scratch = mkdtempSync(join(tmpdir(), 'farpoint-budget-'));
let demo;
try {
  const data = join(scratch, 'data');
  execFileSync(program, ['demo', '--seed-only', '--data', data], { stdio: 'ignore' });

  const starts = [];
  for (let start = 0; start < STARTS; start += 1) {
    await demo?.stop();
    const next = await started(data);
    demo = next.demo;
    starts.push(next.took);
  }
  const sorted = rank(starts);
  row('start to first page, ms', `${part(sorted, 0.5).toFixed(0)} (most ${sorted.at(-1).toFixed(0)})`, `${BUDGET.start}`);
  const fresh = memory(demo.pid);
  row('memory when started, MB', `${fresh.now.toFixed(1)} (most ${fresh.most.toFixed(1)})`, `${BUDGET.memory}`);

  // Everybody of the demo, read off the records officer's page.
  const officer = demo.people.find((person) => person.role === 'records officer');
  const theirs = await signIn(demo.address, officer.name, officer.password);
  await enterPasswordAgain(demo.address, theirs, officer.password);
  const steward = await ask(demo.address, '/steward', { cookie: theirs });
  const names = [...steward.text.matchAll(/data-label="Signs in as"[^>]*><span>([^<]+)</g)].map(([, name]) => name);
  if (names.length < demo.people.length) throw new Error(`only ${names.length} people were found`);

  const reach = [];
  for (const name of names) {
    const cookie = name === officer.name ? theirs : await signIn(demo.address, name, officer.password);
    if (name !== officer.name) await enterPasswordAgain(demo.address, cookie, officer.password);
    reach.push({ name, cookie, pages: await crawl(demo.address, cookie) });
  }
  const count = reach.reduce((sum, person) => sum + person.pages.length, 0);
  const walked = memory(demo.pid);
  row(`memory after ${names.length} people opened ${count} pages, MB`, `${walked.now.toFixed(1)} (most ${walked.most.toFixed(1)})`, `${BUDGET.memory}`);

  const every = [];
  const shapes = new Map();
  for (const { name, cookie, pages } of reach) {
    for (const path of pages) {
      const times = [];
      for (let round = 0; round < rounds; round += 1) times.push((await ask(demo.address, path, { cookie })).took);
      const ordered = rank(times);
      every.push({ name, path, middle: part(ordered, 0.5), late: part(ordered, 0.95) });
      const shape = shapeOf(path);
      shapes.set(shape, [...(shapes.get(shape) ?? []), ...times]);
    }
  }
  const all = rank([...shapes.values()].flat());
  const over = every.filter((page) => page.late >= BUDGET.page);
  const perShape = [...shapes].map(([shape, times]) => ({ shape, middle: part(rank(times), 0.5), late: part(rank(times), 0.95) }));
  perShape.sort((one, other) => other.late - one.late);
  row(`server time, p50 of ${all.length} requests, ms`, part(all, 0.5).toFixed(1), '');
  row('server time, p95, ms', part(all, 0.95).toFixed(1), `${BUDGET.page}`);
  row('worst page by p95, ms', `${perShape[0].late.toFixed(1)} ${perShape[0].shape}`, `${BUDGET.page}`);
  row(`pages whose own p95 is over, of ${every.length}`, `${over.length}`, '0');
  const end = memory(demo.pid);
  row('memory at the end, MB', `${end.now.toFixed(1)} (most ${end.most.toFixed(1)})`, `${BUDGET.memory}`);

  const parts = await firstLoad(demo.address);
  const weight = parts.reduce((sum, one) => sum + one.bytes, 0) / 1000;
  row(`first load in ${parts.length} requests, kB`, weight.toFixed(1), `${BUDGET.load}`);
  row('requests to another host', `${elsewhere.size}`, '0');

  const wide = Math.max(...rows.map(([what]) => what.length));
  const broad = Math.max(...rows.map(([, found]) => found.length));
  console.log(`${'what'.padEnd(wide)}  ${'found'.padEnd(broad)}  budget`);
  for (const [what, found, budget] of rows) console.log(`${what.padEnd(wide)}  ${found.padEnd(broad)}  ${budget}`);
  console.log('\nslowest pages: p50, p95 in ms');
  for (const { shape, middle, late } of perShape.slice(0, 12)) console.log(`${middle.toFixed(1).padStart(7)} ${late.toFixed(1).padStart(7)}  ${shape}`);
  console.log('\nfirst load, bytes with headers');
  for (const { name, bytes, status } of parts) console.log(`${String(bytes).padStart(7)}  ${status}  ${name}`);
  for (const found of elsewhere) console.log(found);
  if (elsewhere.size > 0 || parts.some((one) => one.status !== 200)) process.exitCode = 1;
} finally {
  agent.destroy();
  await demo?.stop();
  rmSync(scratch, { recursive: true, force: true });
}
