/** The yard's work in the demo workshop, from the first look to the sheet of tags, as a person does it. */
import { expect, test } from './workshop';

/** A block of 60 × 40 × 30, as a scanner would write it. */
const block = `ply
format ascii 1.0
element vertex 8
property float x
property float y
property float z
element face 6
property list uchar int vertex_indices
end_header
0 0 0
60 0 0
60 40 0
0 40 0
0 0 30
60 0 30
60 40 30
0 40 30
4 0 3 2 1
4 4 5 6 7
4 0 1 5 4
4 1 2 6 5
4 2 3 7 6
4 3 0 4 7
`;

test('a stone that fits a gap is found, opened and moved', async ({ page }) => {
  await page.goto('/yard/fit');
  await page.getByLabel('Width').fill('20 cm');
  await page.getByLabel('Width').press('Enter');
  const first = page.getByRole('region', { name: 'Pieces that fit' }).getByRole('link').first();
  await expect(first).toContainText(/fills \d+ %/);
  await first.click();
  await expect(page.locator('[data-ready]')).toBeVisible({ timeout: 60_000 });
  const row = `bench ${Date.now()}`;
  await page.getByRole('button', { name: 'Change the place' }).click();
  await page.getByRole('textbox', { name: 'Place' }).fill(row);
  await page.getByRole('button', { name: 'Keep' }).click();
  await expect(page.getByRole('region', { name: 'History' })).toContainText(`to ${row}`);
  await page.reload();
  await expect(page.getByText(row, { exact: true })).toBeVisible();
});

test('a piece is held and let go again', async ({ page }) => {
  await page.goto('/yard?state=ready&kind=stone');
  await page.getByRole('list', { name: 'Pieces on the shelf' }).getByRole('link').first().click();
  await page.getByRole('button', { name: 'Hold…' }).click();
  await page.getByRole('button', { name: 'Hold it' }).click();
  await expect(page.getByRole('region', { name: 'Hold' })).toContainText('Held');
  await page.getByRole('button', { name: 'Let it go' }).click();
  await expect(page.getByRole('button', { name: 'Hold…' })).toBeVisible();
  await expect(page.getByRole('region', { name: 'History' })).toContainText('let it go again');
});

test('a scan is taken in and gets its tag', async ({ page }) => {
  await page.goto('/yard/taking-in');
  await page
    .getByLabel('Choose scans and photographs')
    .setInputFiles({ name: 'block.ply', mimeType: 'application/octet-stream', buffer: Buffer.from(block) });
  await page.getByLabel('Material').first().fill('Test block');
  await page.getByLabel('Place').first().fill('shelf Z');
  await page.getByRole('button', { name: 'Take in 1 piece' }).click();
  const card = page.getByRole('listitem', { name: 'block.ply' });
  await expect(card.getByRole('link', { name: /^S-\d+$/ })).toBeVisible({ timeout: 60_000 });
  // 60 × 40 × 30 mm at the assumed 2600 kg/m³ is 187 g.
  await expect(card).toContainText('60 × 40 × 30');
  await expect(card).toContainText('187');
});

test('a lot is added, changed and removed', async ({ page }) => {
  const name = `Pebbles ${Date.now()}`;
  await page.goto('/yard/lots');
  await page.getByRole('button', { name: 'New lot' }).first().click();
  await page.getByRole('textbox', { name: 'Material' }).fill(name);
  await page.getByLabel('Mass in stock').fill('25 kg');
  await page.getByLabel('Price of a kilogram').fill('2,40');
  await page.getByRole('button', { name: 'Keep' }).click();
  const lot = page.getByRole('listitem').filter({ hasText: name });
  await expect(lot).toContainText('€2.40');
  await lot.getByRole('button', { name: /^Change/ }).click();
  await page.getByLabel('Mass in stock').fill('20');
  await page.getByRole('button', { name: 'Keep' }).click();
  await expect(lot).toContainText('20.00');
  await lot.getByRole('button', { name: /^Remove/ }).click();
  await page.getByRole('dialog').getByRole('button', { name: 'Remove' }).click();
  await expect(lot).toHaveCount(0);
});

test('the yard goes out as a table and comes back', async ({ page }) => {
  await page.goto('/yard');
  const table = await (await page.request.get('/api/pieces.csv')).text();
  await page.getByRole('button', { name: 'CSV' }).click();
  await page.getByRole('button', { name: 'Read in a CSV…' }).click();
  const field = page.getByLabel('CSV file');
  await field.setInputFiles({ name: 'yard.csv', mimeType: 'text/csv', buffer: Buffer.from(table) });
  await expect(page.getByText(/Nothing to change/)).toBeVisible();
  const [head = '', line = ''] = table.split('\n');
  const wrong = `${head}\n${line.replace(/^[SW]-\d+/, 'S-9999')}\n`;
  await field.setInputFiles({ name: 'wrong.csv', mimeType: 'text/csv', buffer: Buffer.from(wrong) });
  await expect(page.getByRole('row', { name: /^2 tag/ })).toBeVisible();
});
