import type { APIRequestContext, Page } from '@playwright/test';
import { expect, test } from './workshop';

/** A tank of our own for each test, so that none finds another's stones. */
async function newLayout(request: APIRequestContext, title: string): Promise<number> {
  const made = await request.post('/api/layouts', {
    data: { title, tank: { outside_mm: [900, 450, 450], glass_mm: 10, water_line_mm: 405 } },
    headers: { 'Sec-Fetch-Site': 'same-origin' },
  });
  expect(made.ok(), await made.text()).toBe(true);
  return (await made.json()).id;
}

async function openBench(page: Page, id: number): Promise<void> {
  await page.goto(`/bench/${id}?test`);
  await expect(page.locator('canvas[data-ready]')).toBeVisible({ timeout: 60_000 });
}

const saved = (page: Page) => expect(page.locator('canvas[data-saving="saved"]')).toBeVisible();
const undo = (page: Page) => page.getByRole('button', { name: /^Undo:/ });
const inTank = (page: Page) => page.getByRole('region', { name: 'In the tank' });

/** The piece that lies first in the tray, put into the middle by Enter. */
async function putFirst(page: Page): Promise<string> {
  const piece = page.getByRole('region', { name: 'Tray' }).getByRole('listitem').first().getByRole('button');
  const tag = (await piece.getByText(/^[SW]-\d+$/).innerText()).trim();
  await piece.focus();
  await page.keyboard.press('Enter');
  await expect(undo(page)).toHaveAccessibleName(`Undo: Place ${tag}`);
  await saved(page);
  return tag;
}

test.describe('on a large screen', () => {
  test.skip(({ viewport }) => (viewport?.width ?? 0) < 1100, 'composing needs room');

  test('three pieces are placed, moved, undone, and are there after a reload', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Three pieces'));
    const price = page.getByRole('region', { name: /^Price/ });
    await expect(inTank(page).getByText('Nothing yet')).toBeVisible();

    const first = await putFirst(page);
    const afterOne = await price.innerText();

    // The second is carried from the tray onto the tank with the pointer.
    const second = page
      .getByRole('region', { name: 'Tray' })
      .getByRole('listitem')
      .first()
      .getByRole('button');
    const tag = (await second.getByText(/^[SW]-\d+$/).innerText()).trim();
    const from = await second.boundingBox();
    const tank = await page.locator('canvas').boundingBox();
    if (!from || !tank) throw new Error('the tray or the tank is not there');
    await page.mouse.move(from.x + from.width / 2, from.y + from.height / 3);
    await page.mouse.down();
    await page.mouse.move(tank.x + tank.width * 0.62, tank.y + tank.height * 0.6, { steps: 8 });
    await page.mouse.up();
    await expect(undo(page)).toHaveAccessibleName(`Undo: Place ${tag}`);
    await saved(page);
    await expect(price).not.toHaveText(afterOne);
    const third = await putFirst(page);
    await expect(inTank(page).getByRole('listitem')).toHaveCount(3);

    // Keys: twice five millimetres to the right in plan, as one step of the undo.
    await page.locator('canvas').focus();
    await page.keyboard.press('3');
    const left = page.getByLabel('From left');
    const before = Number.parseFloat(await left.inputValue());
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowRight');
    await expect(undo(page)).toHaveAccessibleName(`Undo: Move ${third}`);
    await saved(page);
    expect(Number.parseFloat(await left.inputValue())).toBeCloseTo(before + 10, 6);
    await page.keyboard.press('Control+z');
    await expect(undo(page)).toHaveAccessibleName(`Undo: Place ${third}`);
    expect(Number.parseFloat(await left.inputValue())).toBeCloseTo(before, 6);
    await saved(page);

    await page.reload();
    await expect(inTank(page).getByRole('listitem')).toHaveCount(3);
    for (const t of [first, tag, third])
      await expect(inTank(page).getByText(t, { exact: true })).toBeVisible();
    await expect(page.getByRole('button', { name: `Redo: Move ${third}` })).toBeEnabled();
  });

  test('a figure explains itself', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Explained'));
    await putFirst(page);
    await page
      .getByRole('region', { name: /^Water/ })
      .getByRole('button', { name: /Explain this figure/ })
      .first()
      .click();
    await expect(page.getByRole('dialog').getByText('Relation', { exact: true })).toBeVisible();
    await expect(page.getByRole('dialog').getByText('Source', { exact: true })).toBeVisible();
  });

  test('what was let go is kept where it came to rest', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Settled'));
    const tag = await putFirst(page);
    await page.getByLabel('Lifted').fill('40 mm');
    await page.getByLabel('Lifted').press('Enter');
    await expect(undo(page)).toHaveAccessibleName(`Undo: Lift ${tag}`);
    await saved(page);
    await page.getByRole('button', { name: /^Settle/ }).click();
    const words = page.getByRole('region', { name: 'After settling' });
    await expect(words).toBeVisible({ timeout: 60_000 });
    await expect(words.getByText(new RegExp(`${tag} moved`))).toBeVisible();
    await words.getByRole('button', { name: 'Keep where it came to rest' }).click();
    await saved(page);
    await expect(undo(page)).toHaveAccessibleName(/Undo: Keep/);
    await expect(inTank(page).getByText('held', { exact: true })).toBeVisible();
  });

  test('ground is laid and drawn up, a plant is planted', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Ground and plants'));
    await page.locator('canvas').focus();
    await page.keyboard.press('o');
    await page.getByRole('button', { name: 'Lay', exact: true }).click();
    await expect(undo(page)).toHaveAccessibleName(/Undo: Lay /);
    await saved(page);
    await page.keyboard.press('1');
    const heights = page.getByRole('list', { name: 'Heights' });
    await expect(heights.getByRole('listitem').first()).toContainText('40 mm at 0 mm, 0 mm');
    await expect(page.getByRole('button', { name: /^Front/ })).toHaveAttribute('aria-pressed', 'true');
    const handle = page.locator('[data-handle="height"]').first();
    await handle.hover();
    const at = await handle.boundingBox();
    if (!at) throw new Error('no handle');
    await page.mouse.down();
    await page.mouse.move(at.x + at.width / 2, at.y - 40, { steps: 5 });
    await page.mouse.up();
    await expect(undo(page)).toHaveAccessibleName('Undo: Shape the ground');
    await expect(heights.getByRole('listitem').first()).not.toContainText('40 mm at');
    await saved(page);

    await page.locator('canvas').focus();
    await page.keyboard.press('p');
    await page.getByRole('button', { name: 'fern', exact: true }).click();
    await page.getByRole('button', { name: 'Plant in the middle' }).click();
    await expect(undo(page)).toHaveAccessibleName('Undo: Plant fern');
    await saved(page);
    await page.reload();
    await page.locator('canvas[data-ready]').focus();
    await page.keyboard.press('p');
    await expect(page.getByRole('list', { name: 'Planted' }).getByText('fern')).toBeVisible();
  });

  test('two revisions are told apart in words', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Revisions'));
    const keep = async (note: string) => {
      await page.getByRole('button', { name: /^Keep one/ }).click();
      await page.getByLabel('Note').fill(note);
      await page.getByRole('button', { name: 'Keep it' }).click();
      await expect(page.getByRole('button', { name: new RegExp(note) })).toBeVisible();
    };
    await putFirst(page);
    await keep('one stone');
    const tag = await putFirst(page);
    await keep('two stones');
    await page.getByRole('button', { name: /one stone/ }).click();
    await page.getByRole('button', { name: /two stones/ }).click();
    await page.getByRole('button', { name: 'Compare 1 and 2' }).click();
    await expect(page.getByRole('dialog').getByText(`${tag} came in.`)).toBeVisible();
    await page.getByRole('button', { name: 'Put 1 back on the bench' }).click();
    await expect(inTank(page).getByRole('listitem')).toHaveCount(1);
  });

  test('a second person sees the first one’s change', async ({ page, browser, request, demo }) => {
    const id = await newLayout(request, 'Two people');
    await openBench(page, id);
    const other = await browser.newPage({ baseURL: demo.address });
    await openBench(other, id);
    const tag = await putFirst(page);
    await expect(inTank(other).getByText(tag, { exact: true })).toBeVisible();
    await expect(other.getByRole('status').getByText(new RegExp(`: Place ${tag}`))).toBeVisible();
    await other.close();
  });

  test('edits made while the server is away arrive when it is back', async ({ page, request }) => {
    await openBench(page, await newLayout(request, 'Away'));
    const tag = await putFirst(page);
    await page.route('**/composition', (route) => route.abort());
    await page.getByLabel('Turn, °').fill('30');
    await page.getByLabel('Turn, °').press('Enter');
    await expect(page.getByText('Offline: 1 change waits')).toBeVisible();
    await page.reload();
    await page.unroute('**/composition');
    await expect(undo(page)).toHaveAccessibleName(`Undo: Turn ${tag}`);
    await saved(page);
    await page.reload();
    await inTank(page)
      .getByRole('button', { name: new RegExp(tag) })
      .click();
    await expect(page.getByLabel('Turn, °')).toHaveValue('30');
  });

  test('the sheets can be printed', async ({ page, request }) => {
    test.slow();
    await openBench(page, await newLayout(request, 'Sheets'));
    await putFirst(page);
    await page.getByRole('button', { name: 'Documents' }).click();
    for (const name of ['Setting-out sheet', 'Build sheet']) {
      const href = await page.getByRole('link', { name }).getAttribute('href');
      const sheet = await request.get(href ?? '');
      expect(sheet.headers()['content-type']).toContain('application/pdf');
      expect((await sheet.body()).subarray(0, 5).toString()).toBe('%PDF-');
    }
  });
});

test('a phone shows the tank, its pieces and the figures', async ({ page, request, viewport }) => {
  test.skip((viewport?.width ?? 0) > 600, 'for the phone');
  const layouts = await (await request.get('/api/layouts')).json();
  const full = layouts.find((l: { pieces: number }) => l.pieces > 2);
  await openBench(page, full.id);
  await inTank(page).getByRole('listitem').first().getByRole('button').click();
  await expect(page.getByText('Foot above base')).toBeVisible();
  await page
    .getByRole('navigation', { name: 'Sheets of the bench' })
    .getByRole('button', { name: 'Reckoning' })
    .click();
  await expect(page.getByRole('region', { name: /^Weight/ })).toBeVisible();
  const wide = await page.evaluate(() => document.documentElement.scrollWidth > innerWidth);
  expect(wide).toBe(false);
});
