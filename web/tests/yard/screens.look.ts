import { test } from '@playwright/test';
import { openShop } from './shop';

const folder = process.env.SHOTS ?? '/tmp/yardpw/shots';
const sizes = { desk: [1440, 900], tablet: [820, 1180], phone: [380, 800] } as const;
const only = process.env.ONLY;
const pages: Record<string, string> = {
  yard: '/yard',
  narrowed: '/yard?kind=wood&sort=mass',
  empty: '/yard?text=nosuch',
  fit: '/yard/fit?w=150&d=120&h=100',
  outline: '/yard/fit?outline=100,0;260,0;300,60;240,160;140,120&depth=150&length=600&height=360',
  piece: '/yard/S-0101',
  held: '/yard/W-0110',
  taking: '/yard/taking-in',
  lots: '/yard/lots',
};
for (const [size, [width, height]] of Object.entries(sizes))
  for (const [name, path] of Object.entries(pages)) {
    if (only && !only.split(',').includes(name)) continue;
    if (process.env.SIZE && process.env.SIZE !== size) continue;
    test(`${name} ${size}`, async ({ page }) => {
      await page.setViewportSize({ width, height });
      page.on('console', (m) => m.type() === 'error' && console.log(name, size, m.text()));
      page.on('pageerror', (e) => console.log(name, size, e.message, e.stack?.slice(0, 300)));
      await openShop(page, 300);
      await page.goto(path);
      await page.locator('h1').waitFor();
      await page.waitForTimeout(1500);
      await page.screenshot({ path: `${folder}/${name}-${size}.png` });
    });
  }
