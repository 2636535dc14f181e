import { screens } from './screens';
import { expect, test } from './workshop';

const SIZES = [
  { name: '1440', width: 1440, height: 900 },
  { name: '820', width: 820, height: 1180 },
  { name: '380', width: 380, height: 800 },
];

test('every screen fits its window at three sizes', async ({ page, demo }, info) => {
  test.skip(info.project.name !== 'desktop', 'it sets the sizes itself');
  test.setTimeout(600_000);
  for (const screen of await screens(demo.address)) {
    for (const size of SIZES) {
      await test.step(`${screen.name} ${size.name}`, async () => {
        await page.setViewportSize(size);
        await page.goto(screen.path);
        await screen.ready(page);
        await page.waitForFunction(() => [...document.images].every((image) => image.complete));
        await page.screenshot({ path: `tests/screenshots/${screen.name}-${size.name}.png` });
        const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        expect.soft(over, `${screen.name} at ${size.name} is wider than its window`).toBeLessThanOrEqual(0);
      });
    }
  }
});
