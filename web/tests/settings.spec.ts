import { expect, test } from './workshop';

test('grades are kept, and an empty range is refused at its field', async ({ page }) => {
  await page.goto('/settings');
  const rows = page.getByRole('group', { name: /^Grade \d+$/ });
  await expect(page.getByRole('button', { name: 'Add a grade' })).toBeVisible();
  const before = await rows.count();
  await page.getByRole('button', { name: 'Add a grade' }).click();
  const row = rows.nth(before);
  await row.getByLabel('Name').fill('boulder');
  await row.getByLabel('By').selectOption({ label: 'long side' });
  await row.getByLabel('From').fill('90 cm');
  await row.getByLabel('Below').fill('800');
  await page.getByRole('button', { name: 'Keep the grades' }).click();
  await expect(page.getByRole('alert').or(row.locator('[aria-invalid]')).first()).toBeVisible();
  await row.getByLabel('Below').fill('1.2 m');
  await page.getByRole('button', { name: 'Keep the grades' }).click();
  await expect(page.getByText('The grades are kept')).toBeVisible();
  await page.reload();
  await expect(rows.nth(before).getByLabel('Below')).toHaveValue(/1200\s?mm/);
  await rows
    .nth(before)
    .getByRole('button', { name: /^Remove/ })
    .click();
  await page.getByRole('button', { name: 'Keep the grades' }).click();
  await expect(page.getByText('The grades are kept').last()).toBeVisible();
});
