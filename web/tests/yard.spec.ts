/** The yard's screens where the demo workshop can't show what matters: thousands of pieces, somebody quicker, a scan
 * in the wrong unit. The shop answers in the browser; the client is the program's own. */
import AxeBuilder from '@axe-core/playwright';
import type { Page } from '@playwright/test';
import { expect, test } from './workshop';
import { openShop, refuse } from './yard/shop';

const shelf = (page: Page) => page.getByRole('list', { name: 'Pieces on the shelf' });

test.describe('the shelf', () => {
  test('draws only what is in sight of 5,000 pieces, and reaches the last by key', async ({ page }, info) => {
    test.skip(info.project.name === 'phone', 'a phone has no End key');
    await openShop(page, 5000);
    await page.goto('/yard');
    await expect(page.getByText('5\u2009000 pieces')).toBeVisible();
    expect(await shelf(page).getByRole('listitem').count()).toBeLessThan(150);
    await shelf(page).getByRole('link').first().focus();
    await expect(async () => {
      await page.keyboard.press('End');
      await expect(shelf(page).getByRole('link', { name: /^W-5100,/ })).toBeFocused({ timeout: 500 });
    }).toPass();
    expect(await shelf(page).getByRole('listitem').count()).toBeLessThan(150);
    await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('Enter');
    await expect(page.getByRole('heading', { level: 1, name: 'S-5099' })).toBeVisible();
  });

  test('keeps what was asked for in the address', async ({ page }, info) => {
    await openShop(page, 120);
    await page.goto('/yard');
    await expect(page.getByText('120 pieces')).toBeVisible();
    if (info.project.name === 'phone') await page.getByRole('button', { name: 'Filters' }).click();
    await page.getByRole('button', { name: 'Wood', exact: true }).click();
    await page.getByRole('button', { name: /^Moor root/ }).click();
    if (info.project.name === 'phone') await page.getByRole('button', { name: /^Show/ }).click();
    await expect(page).toHaveURL(/kind=wood&material=Moor\+root/);
    await page.reload();
    await expect(page.getByText(/match.*drawn to one scale/)).toBeVisible();
    await expect(shelf(page).getByRole('link', { name: /^S-/ })).toHaveCount(0);
    await page.getByRole('searchbox').fill('no such thing');
    await page.getByRole('button', { name: 'Clear the filters' }).click();
    await expect(page.getByText('120 pieces')).toBeVisible();
  });

  test('prints tags of the pieces that were chosen', async ({ page }) => {
    await openShop(page, 40);
    await page.goto('/yard');
    await page.getByRole('button', { name: 'Choose' }).click();
    await shelf(page)
      .getByRole('checkbox', { name: /^S-0103,/ })
      .click();
    await shelf(page)
      .getByRole('checkbox', { name: /^S-0101,/ })
      .click();
    await expect(page.getByText('2 pieces chosen')).toBeVisible();
    await page.getByLabel('Paper').selectOption('Letter');
    await expect(page.getByRole('link', { name: 'Print tags' })).toHaveAttribute(
      'href',
      '/api/tags.pdf?tags=S-0101%2CS-0103&paper=letter',
    );
  });

  test('says the state in words', async ({ page }) => {
    await openShop(page, 40);
    await page.goto('/yard');
    for (const word of ['held', 'sold', 'in preparation', 'on display'])
      await expect(shelf(page).getByText(word, { exact: true }).first()).toBeVisible();
  });

  test('grows and shrinks by keys', async ({ page }, info) => {
    test.skip(info.project.name === 'phone', 'a phone has no keys');
    await openShop(page, 40);
    await page.goto('/yard');
    await shelf(page).getByRole('link').first().focus();
    const bar = page.getByRole('figure', { name: /^Scale/ });
    await expect(bar).toHaveAttribute('aria-label', /200 mm/);
    for (let i = 0; i < 4; i++) await page.keyboard.press('+');
    await expect(bar).toHaveAttribute('aria-label', /50 mm/);
  });
});

test.describe('fit search', () => {
  test('answers while the box changes', async ({ page }) => {
    await openShop(page, 300);
    await page.goto('/yard/fit');
    const found = page.getByRole('region', { name: 'Pieces that fit' }).getByRole('listitem');
    await expect(found.first()).toContainText(/fills \d+ %/);
    const before = await found.count();
    await page.getByLabel('Height').fill('20 mm');
    await page.getByLabel('Height').press('Enter');
    await expect(page).toHaveURL(/h=20/);
    await expect.poll(() => found.count()).toBeLessThan(before);
    await expect(page.getByRole('status').first()).toContainText('ms');
  });

  test('takes an outline drawn on the front, and moves its points by keys', async ({ page }) => {
    await openShop(page, 300);
    await page.goto('/yard/fit');
    await page.getByRole('button', { name: 'An outline on the front' }).click();
    await expect(page.getByText('Draw the gap on the front.')).toBeVisible();
    const front = page.getByRole('group', { name: 'The tank’s front' });
    const box = await front.boundingBox();
    if (!box) throw new Error('the front has no place on the screen');
    const at = (x: number, y: number) => [box.x + box.width * x, box.y + box.height * y] as const;
    await page.mouse.move(...at(0.3, 0.75));
    await page.mouse.down();
    for (const [x, y] of [
      [0.7, 0.75],
      [0.75, 0.5],
      [0.5, 0.3],
      [0.3, 0.5],
      [0.3, 0.74],
    ] as const)
      await page.mouse.move(...at(x, y), { steps: 8 });
    await page.mouse.up();
    await expect(
      page.getByRole('region', { name: 'Pieces that fit' }).getByRole('listitem').first(),
    ).toBeVisible();
    const point = page.getByRole('button', { name: /^Point 1 of/ });
    const drawn = new URL(page.url()).searchParams.get('outline');
    await point.focus();
    await page.keyboard.press('ArrowUp');
    await expect.poll(() => new URL(page.url()).searchParams.get('outline')).not.toBe(drawn);
    await expect(point).toBeFocused();
  });

  test('can be asked without a pointer', async ({ page }) => {
    await openShop(page, 300);
    await page.goto('/yard/fit?outline=draw');
    await page.getByRole('button', { name: 'Start with a box' }).press('Enter');
    await expect(page.getByRole('button', { name: /^Point 4 of 4/ })).toBeVisible();
    await expect(page.getByText(/pieces looked through in/)).toBeVisible();
  });
});

test.describe('a piece', () => {
  test('turns its scan to another resting pose', async ({ page }) => {
    await openShop(page, 5);
    await page.goto('/yard/S-0101');
    await expect(page.locator('[data-ready]')).toBeVisible({ timeout: 60_000 });
    await page.getByRole('button', { name: /^Pose 2/ }).click();
    await expect(page).toHaveURL(/pose=2/);
    await expect(page.getByRole('button', { name: /^Pose 2/ })).toHaveAttribute('aria-pressed', 'true');
  });

  test('keeps an edit though somebody changed something else', async ({ page }) => {
    const shop = await openShop(page, 5);
    await page.goto('/yard/S-0101');
    await page.getByRole('button', { name: 'Change the place' }).click();
    await page.getByRole('textbox', { name: 'Place' }).fill('bench');
    Object.assign(shop.pieces[0] ?? {}, { material: 'River cobble', version: 2 });
    await page.getByRole('button', { name: 'Keep' }).click();
    await expect(page.getByText('Kept. Meanwhile somebody changed its material.')).toBeVisible();
    expect(shop.pieces[0]).toMatchObject({ place: 'bench', material: 'River cobble', version: 3 });
  });

  test('asks when both changed the same thing', async ({ page }) => {
    const shop = await openShop(page, 5);
    await page.goto('/yard/S-0101');
    await page.getByRole('button', { name: 'Change the place' }).click();
    await page.getByRole('textbox', { name: 'Place' }).fill('bench');
    Object.assign(shop.pieces[0] ?? {}, { place: 'loft', version: 2 });
    await page.getByRole('button', { name: 'Keep' }).click();
    const dialog = page.getByRole('dialog', { name: 'Somebody was quicker' });
    await expect(dialog).toContainText('loft');
    await dialog.getByRole('button', { name: 'Put yours in' }).click();
    await expect.poll(() => shop.pieces[0]?.place).toBe('bench');
  });
});

test('a scan in the wrong unit is corrected without sending it again', async ({ page }) => {
  await openShop(page, 5);
  let n_uploads = 0;
  const units: string[] = [];
  await page.route(/\/api\/uploads/, (route) => {
    n_uploads += 1;
    return route.fulfill({ json: { id: n_uploads, name: 'x', bytes: 3, kind: 'scan' } });
  });
  await page.route(/\/api\/taking-in/, (route) => {
    units.push(route.request().postDataJSON().unit);
    return route.fulfill({ status: 202, json: { job: units.length } });
  });
  await page.route(/\/api\/jobs\/\d+/, (route) =>
    route.fulfill({
      json:
        units.at(-1) === 'mm'
          ? {
              id: 1,
              kind: 'taking_in',
              state: 'failed',
              progress: 1,
              step: '',
              error: refuse('unit', '/unit', 'The longest side would be 0.2 mm.', 'Is the scan in metres?')
                .error,
            }
          : { id: 2, kind: 'taking_in', state: 'done', progress: 1, step: '', result: { tag: 'S-0102' } },
    }),
  );
  await page.goto('/yard/taking-in');
  await page.getByLabel('Choose scans and photographs').setInputFiles([
    { name: 'rock 7.ply', mimeType: '', buffer: Buffer.from('ply') },
    { name: 'rock_7 front.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('jpg') },
    { name: 'notes.txt', mimeType: 'text/plain', buffer: Buffer.from('txt') },
  ]);
  await expect(page.getByText(/^notes.txt:/)).toBeVisible();
  await page.getByRole('button', { name: 'Take in 1 piece' }).click();
  await expect(page.getByText('Say what it is made of.').first()).toBeVisible();
  await page.getByLabel('Material').first().fill('Tarnholt clint');
  await page.getByLabel('Place').first().fill('shelf A');
  await page.getByRole('button', { name: 'Take in 1 piece' }).click();
  await expect(page.getByText('Is the scan in metres?')).toBeVisible();
  expect(n_uploads).toBe(2);
  const scan = page.getByRole('listitem', { name: 'rock 7.ply' });
  await scan.getByText('Its own kind, material, place, unit').click();
  await scan.getByLabel('The scan’s unit').selectOption('m');
  await scan.getByRole('button', { name: 'Try again' }).click();
  await expect(scan.getByRole('link', { name: 'S-0102' })).toBeVisible();
  expect(units).toEqual(['mm', 'm']);
  expect(n_uploads, 'nothing is sent twice').toBe(2);
});

test('a CSV with wrong lines says which', async ({ page }) => {
  await openShop(page, 5);
  await page.route(/\/api\/pieces\.csv/, (route) =>
    route.fulfill({
      json: {
        changed: 0,
        unchanged: 4,
        errors: [{ line: 3, column: 'price', message: '“dear” is no amount' }],
      },
    }),
  );
  await page.goto('/yard');
  await page.getByRole('button', { name: 'CSV' }).click();
  await page.getByRole('button', { name: 'Read in a CSV…' }).click();
  await page
    .getByLabel('CSV file')
    .setInputFiles({ name: 'yard.csv', mimeType: 'text/csv', buffer: Buffer.from('tag\n') });
  await expect(page.getByText(/Nothing was changed/)).toBeVisible();
  await expect(page.getByRole('row', { name: '3 price “dear” is no amount' })).toBeVisible();
});

test('axe finds nothing in a full yard', async ({ page }) => {
  await openShop(page, 60);
  for (const path of [
    '/yard',
    '/yard/fit',
    '/yard/fit?outline=0,0;200,0;200,150;0,150&depth=200',
    '/yard/W-0105',
    '/yard/taking-in',
    '/yard/lots',
  ]) {
    await page.goto(path);
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
    await expect(
      page.getByText(/^(One moment|Walking to the shelf|Fetching the scan|Looking)…$/),
    ).toHaveCount(0);
    const { violations } = await new AxeBuilder({ page }).analyze();
    const words = violations.map(
      (one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ')).join(', ')}`,
    );
    expect.soft(words, path).toEqual([]);
  }
});
