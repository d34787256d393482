// A person at a browser, and what the browser complained of meanwhile.

export async function open(browser, demo, size, colours = {}) {
  const context = await browser.newContext({ baseURL: demo.address, viewport: size, colorScheme: 'light', ...colours });
  const page = await context.newPage();
  const complaints = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => complaints.push(`script: ${error.message}`));
  page.on('requestfailed', (request) => {
    // Leaving a page ends what it was still loading; that is no fault of the page.
    const left = request.failure()?.errorText === 'net::ERR_ABORTED';
    if (!left) complaints.push(`not loaded: ${request.url()}`);
  });
  page.on('request', (request) => {
    if (!request.url().startsWith(demo.address) && !request.url().startsWith('data:')) {
      complaints.push(`asks another host: ${request.url()}`);
    }
  });
  return { page, complaints, close: () => context.close() };
}

export async function signIn(browser, demo, person, size, colours) {
  const seat = await open(browser, demo, size, colours);
  await seat.page.goto('/sign-in');
  await seat.page.getByLabel('E-mail or sign-in name').fill(person.name);
  await seat.page.getByLabel('Password').fill(person.password);
  await seat.page.getByRole('button', { name: 'Sign in' }).click();
  if (!seat.page.url().endsWith('/today')) throw new Error(`${person.role} could not sign in: ${seat.page.url()}`);
  return { ...seat, person };
}

// Goes to an address; enters the password again where that is asked for.
export async function goTo(seat, address) {
  let answer = await seat.page.goto(address);
  const asked = answer.status() === 403 && (await seat.page.locator('a[href="/confirm"]').count()) > 0;
  if (asked && seat.person) {
    await seat.page.goto('/confirm');
    await seat.page.getByLabel('Reason').fill('looking at every page');
    await seat.page.getByLabel('Your password').fill(seat.person.password);
    await seat.page.getByRole('button', { name: 'Go on' }).click();
    seat.complaints.length = 0;
    answer = await seat.page.goto(address);
  }
  return answer.status();
}
