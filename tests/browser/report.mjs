// What passed and what did not; the last line counts both.

const results = [];

export function passed(name) {
  results.push({ name, ok: true });
}

export function failed(name, details) {
  results.push({ name, ok: false });
  console.log(`not ok - ${name}\n    ${String(details).replaceAll('\n', '\n    ')}`);
}

export function check(name, faults) {
  if (faults.length === 0) passed(name);
  else failed(name, faults.join('\n'));
}

export function report() {
  const bad = results.filter((result) => !result.ok).length;
  console.log(`${results.length - bad} passed, ${bad} failed`);
  return bad > 0 || results.length === 0 ? 1 : 0;
}
