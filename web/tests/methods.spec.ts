import type { Page } from '@playwright/test';
import { expect, test } from './workshop';

async function levelBed(page: Page): Promise<void> {
  await page.goto('/methods');
  await page.getByRole('link', { name: /scape\.ground/ }).click();
  const box = (name: string) => page.getByRole('textbox', { name, exact: true }).first();
  await box('Length').fill('60 cm');
  await box('Width').fill('300');
  await box('Height').fill('360');
  await box('Name').fill('sand');
  await box('Bulk density kg/m³').fill('1500');
  await box('Angle of repose °').fill('33');
  await box('Material').fill('sand');
  await page.getByLabel('By', { exact: true }).selectOption({ label: 'Thickness above what lies beneath' });
  await box('X').fill('10');
  await box('Y').fill('10');
  await box('Value').fill('50');
  await box('Water depth').fill('300');
}

test('a method computes from its form, and its figures explain themselves', async ({ page }) => {
  await levelBed(page);
  await page.getByRole('button', { name: 'Compute' }).click();
  // Closed form: 600 × 300 × (300 − 50) mm = 45.0 L of water, 600 × 300 × 50 mm = 9.0 L of ground.
  const figure = page.getByRole('button', { name: /^Free water: 45 L/ });
  await expect(figure).toBeVisible();
  await expect(page.getByRole('region', { name: 'Table: Beds' })).toContainText(/9\s*L/);
  await figure.click();
  await expect(page.getByRole('dialog', { name: 'Free water' })).toContainText('balance of volumes');
  await page.keyboard.press('Escape');
  await expect(page.getByRole('dialog', { name: 'Free water' })).toBeHidden();
});

test('a refusal shows at the field that it points to', async ({ page }) => {
  await levelBed(page);
  const where = page.getByRole('textbox', { name: 'Material', exact: true });
  await where.fill('gravel that is not listed');
  await page.getByRole('button', { name: 'Compute' }).click();
  await expect(where).toHaveAttribute('aria-invalid', 'true');
  await expect(where).toBeFocused();
});

test('what is missing is said before anything is sent', async ({ page }) => {
  await page.goto('/methods');
  await page.getByRole('link', { name: /scape\.settle/ }).click();
  await page.getByRole('button', { name: 'Compute' }).click();
  await expect(page.getByText('This is needed.').first()).toBeVisible();
  await expect(page.getByRole('textbox', { name: 'Length', exact: true })).toBeFocused();
});

test('a bound is said at the field', async ({ page }) => {
  await levelBed(page);
  const length = page.getByRole('textbox', { name: 'Length', exact: true });
  await length.fill('11 m');
  await length.blur();
  await expect(page.getByText('At most 10000 mm.')).toBeVisible();
});

test('a method shows its sources and checks, and keeps its address', async ({ page }) => {
  await page.goto('/methods');
  await page.getByRole('link', { name: /solid\.measure/ }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'solid.measure' })).toBeVisible();
  await expect(page.getByText('B. Mirtich').first()).toBeVisible();
  await expect(page.getByRole('region', { name: 'Checks' })).toContainText('closed form');
  await page.reload();
  await expect(page.getByRole('heading', { level: 1, name: 'solid.measure' })).toBeVisible();
});
