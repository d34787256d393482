// Starts the real program as its README says, in a folder of its own.

import { spawn } from 'node:child_process';
import { createServer } from 'node:net';

function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.on('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

export async function startDemo(program, data) {
  const port = await freePort();
  const child = spawn(program, ['demo', '--listen', `127.0.0.1:${port}`, '--data', data, '--sign-in-burst', '1000'], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let printed = '';
  let complained = '';
  child.stderr.on('data', (bytes) => (complained += bytes));
  await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the demo did not start:\n${printed}${complained}`)), 60_000);
    child.stdout.on('data', (bytes) => {
      printed += bytes;
      if (printed.includes('Listening on ')) {
        clearTimeout(late);
        resolve();
      }
    });
    child.on('error', reject);
    child.on('exit', (code) => reject(new Error(`the demo ended with ${code}:\n${printed}${complained}`)));
  });
  const address = printed.match(/Listening on (\S+)/)[1];
  const password = printed.match(/password: (.+)/)[1].trim();
  const people = [...printed.matchAll(/^ {2}(\S.*?) {2,}(\S+)$/gm)].map(([, role, name]) => ({ role, name, password }));
  return {
    address,
    people,
    pid: child.pid,
    async stop() {
      if (child.exitCode !== null) return;
      const ended = new Promise((resolve) => child.on('exit', resolve));
      child.kill('SIGINT');
      await ended;
    },
  };
}
