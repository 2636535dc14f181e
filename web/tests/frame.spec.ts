import { expect, test } from './workshop';

test.describe('the frame', () => {
  test('leads to every screen', async ({ page }, info) => {
    await page.goto('/');
    for (const name of ['Yard', 'Bench', 'Commissions', 'Methods']) {
      if (info.project.name === 'phone' && name === 'Methods') {
        await page.getByRole('button', { name: 'Menu' }).click();
      }
      await page.getByRole('link', { name, exact: true }).click();
      await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
      await expect(page).toHaveURL(new RegExp(`/${name.toLowerCase()}$`));
    }
    await page.goBack();
    await expect(page).toHaveURL(/\/commissions$/);
  });

  test('is worked by keys alone', async ({ page }, info) => {
    test.skip(info.project.name === 'phone', 'a phone has no keys');
    await page.goto('/');
    await expect(page.getByRole('heading', { level: 1, name: 'Today' })).toBeVisible();
    await page.keyboard.press('Tab');
    await expect(page.getByRole('link', { name: 'Skip to the page' })).toBeFocused();
    await page.keyboard.press('g');
    await page.keyboard.press('m');
    await expect(page.getByRole('heading', { level: 1, name: 'Methods' })).toBeVisible();
    await page.keyboard.press('?');
    await expect(page.getByRole('dialog', { name: 'Keys' })).toBeVisible();
    await page.keyboard.press('Escape');
    await expect(page.getByRole('dialog', { name: 'Keys' })).toBeHidden();
  });

  test('keeps the units that were chosen', async ({ page }) => {
    await page.goto('/settings');
    await page.getByRole('button', { name: 'Menu' }).click();
    const kept = page.waitForResponse(/\/api\/preferences$/);
    await page.getByRole('radio', { name: /^US/ }).check();
    expect((await kept).ok()).toBe(true);
    await page.keyboard.press('Escape');
    await expect(page.getByRole('region', { name: 'Ground materials' })).toContainText('lb/ft³');
    await page.reload();
    await expect(page.getByRole('region', { name: 'Ground materials' })).toContainText('lb/ft³');
    await page.getByRole('button', { name: 'Menu' }).click();
    await page.getByRole('radio', { name: /^Metric/ }).check();
    await page.keyboard.press('Escape');
    await expect(page.getByRole('region', { name: 'Ground materials' })).toContainText('kg/m³');
  });

  test('says when no page answers', async ({ page }) => {
    await page.goto('/tank/of/glass');
    await expect(page.getByRole('heading', { level: 1, name: 'Nothing here' })).toBeVisible();
    await page.getByRole('link', { name: 'Yard' }).last().click();
    await expect(page).toHaveURL(/\/yard$/);
  });

  test('says that it is the demo', async ({ page }) => {
    await page.goto('/');
    await page.getByRole('button', { name: 'Menu' }).click();
    await expect(page.getByText('The demo: no sign-in')).toBeVisible();
  });
});

test('today leads only to pages that exist', async ({ page }) => {
  await page.goto('/');
  await expect(page.getByRole('heading', { level: 1, name: 'Today' })).toBeVisible();
  const items = page.locator('main li a');
  await expect(items.or(page.getByText('Nothing needs you')).first()).toBeVisible();
  const ways = await items.evaluateAll((links) => links.map((link) => link.getAttribute('href') ?? ''));
  for (const way of ways) {
    await page.goto(way);
    await expect(page.getByRole('heading', { level: 1 }).first()).toBeVisible();
    await expect(page.getByText('Nothing here')).toHaveCount(0);
  }
});
