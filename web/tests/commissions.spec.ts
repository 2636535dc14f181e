import { expect, test } from './workshop';

test('a commission goes from enquiry to the bench', async ({ page }, info) => {
  const customer = `Tannery ${info.project.name} ${info.workerIndex}-${Math.round(performance.now())}`;
  await page.goto('/commissions');
  await page.getByRole('link', { name: 'New commission' }).click();
  await page.getByLabel('Customer').fill(customer);
  await page.getByLabel('Wish').fill('A pool under a ledge.');
  await page.getByLabel('Budget').fill('850');
  await page.getByRole('textbox', { name: /^Length/ }).fill('24 in');
  await page.getByRole('textbox', { name: /^Width/ }).fill('1\' 2"');
  await page.getByRole('textbox', { name: /^Height/ }).fill('36cm');
  await page.getByRole('textbox', { name: /^Glass/ }).fill('eight');
  await page.getByRole('textbox', { name: /^Water line/ }).fill('320');
  await page.getByRole('button', { name: 'Open the commission' }).click();
  await expect(page.getByText('“eight” isn’t a length')).toBeVisible();
  await page.getByRole('textbox', { name: /^Glass/ }).fill('8');
  await page.getByRole('button', { name: 'Open the commission' }).click();

  await expect(page.getByRole('heading', { level: 1, name: customer })).toBeVisible();
  // 24 in = 609.6 mm and 14 in = 355.6 mm (inch of 25.4 mm, exact by definition).
  await expect(
    page.getByRole('img', { name: /The tank, 610 mm long, 356 mm wide and 360 mm high/ }),
  ).toBeVisible();
  await page.reload();
  await expect(page.getByText('A pool under a ledge.')).toBeVisible();

  await page
    .getByRole('region', { name: 'Next step' })
    .getByRole('button', { name: 'Begin a layout' })
    .click();
  await page.getByRole('dialog').getByRole('button', { name: 'Open the bench' }).click();
  await expect(page).toHaveURL(/\/bench\/\d+$/);
  await page.goBack();
  await expect(page.getByRole('link', { name: 'Setting-out sheet' })).toBeVisible();
  await expect(page.locator('[aria-current="step"]')).toHaveText('Composing');
});

test('a brief that somebody else changed meanwhile is not overwritten', async ({ page, request }) => {
  const made = await request.post('/api/commissions', {
    data: { customer: 'First name', brief: { wish: 'Moss.' } },
    headers: { 'Sec-Fetch-Site': 'same-origin' },
  });
  const commission = await made.json();
  await page.goto(`/commissions/${commission.id}`);
  await page.getByRole('button', { name: 'Change' }).click();
  await page.getByLabel('Customer').fill('Mine');
  const theirs = await request.patch(`/api/commissions/${commission.id}`, {
    data: { version: commission.version, customer: 'Theirs' },
  });
  expect(theirs.ok()).toBe(true);
  await page.getByRole('button', { name: 'Keep' }).click();
  await expect(
    page
      .getByRole('alert')
      .or(page.getByRole('heading', { name: 'Theirs' }))
      .first(),
  ).toBeVisible();
  const kept = await (await request.get(`/api/commissions/${commission.id}`)).json();
  expect(kept.customer).toBe('Theirs');
});

test('an address without a commission says so', async ({ page }) => {
  await page.goto('/commissions/999999');
  await expect(page.getByRole('alert')).toBeVisible();
});
