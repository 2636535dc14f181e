import { test as base, expect } from '@playwright/test';
import { startWorkshop, type Workshop } from './workshop';

base.describe.configure({ mode: 'serial' });
let workshop: Workshop;
base.beforeAll(async () => {
  base.skip(!process.env.LENTIC_BIN, 'needs a workshop of its own');
  workshop = await startWorkshop({ demo: false });
});
base.afterAll(async () => workshop?.stop());

const password = 'a lake without any wind';

base('the first start asks for the owner, and nothing is open before', async ({ page }) => {
  await page.goto(`${workshop.address}/yard`);
  await expect(page.getByRole('heading', { level: 1, name: 'Open the workshop' })).toBeVisible();
  await expect(page.getByRole('navigation', { name: 'Screens' })).toHaveCount(0);
  await page.getByLabel('Name').fill('Aaf');
  await page.getByLabel('Password', { exact: true }).fill('short');
  await page.getByLabel('Password again').fill('shorter');
  await page.getByRole('button', { name: 'Open the workshop' }).click();
  await expect(page.getByText('The two passwords differ.')).toBeVisible();
  await page.getByLabel('Password', { exact: true }).fill(password);
  await page.getByLabel('Password again').fill(password);
  await page.getByRole('button', { name: 'Open the workshop' }).click();
  await expect(page).toHaveURL(/\/yard$/);
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
});

base('an empty workshop says what to do on every screen', async ({ page }) => {
  await page.goto(`${workshop.address}/sign-in`);
  await page.getByLabel('Name').fill('Aaf');
  await page.getByLabel('Password', { exact: true }).fill('not that one at all');
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect(page.getByRole('alert')).toBeVisible();
  await page.getByLabel('Password', { exact: true }).fill(password);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await expect(page.getByText('Nothing needs you')).toBeVisible();
  await page.goto(`${workshop.address}/commissions`);
  await expect(page.getByText('No commission yet')).toBeVisible();

  await page.getByRole('button', { name: 'Menu' }).click();
  await page.getByRole('button', { name: 'Sign out' }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'Sign in' })).toBeVisible();
  await page.goto(`${workshop.address}/commissions`);
  await expect(page.getByRole('heading', { level: 1, name: 'Sign in' })).toBeVisible();
});
