/** How long frames take while 5,000 pieces scroll by: a measurement to read, not a test that judges.
 * `npx playwright test --config tests/yard/speed.config.ts`, with BASE naming a served build. Drawn without a graphics
 * chip: an emulated one takes 0.3 s to rasterise a page of this size and would measure itself. */
import { test } from '@playwright/test';
import { openShop } from './shop';

interface Frames {
  n: number;
  p50: number;
  p95: number;
  p99: number;
  worst: number;
  long: number;
}

test.use({
  launchOptions: {
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--headless', '--no-sandbox', '--disable-gpu', '--no-first-run'],
  },
});
test.setTimeout(180_000);
for (const [words, step, by] of [
  ['default scale, steady', 5, 60],
  ['default scale, flung', 5, 200],
  ['smallest scale, flung', 0, 200],
] as const)
  test(`scrolling: ${words}`, async ({ page }) => {
    await page.setViewportSize({ width: 1440, height: 900 });
    await openShop(page, 5000);
    await page.addInitScript((kept) => localStorage.setItem('lentic.yard.scale', String(kept)), step);
    const start = Date.now();
    await page.goto('/yard');
    await page.getByRole('link', { name: /S-0101/ }).waitFor();
    const shown = Date.now() - start;
    await page.getByText('5\u2009000 pieces').waitFor();
    await page.waitForTimeout(2500);
    const cdp = await page.context().newCDPSession(page);
    // Time on the processor, so that other work on the machine doesn't count.
    await cdp.send('Performance.enable', { timeDomain: 'threadTicks' });
    const metrics = async () => {
      const { metrics: list } = await cdp.send('Performance.getMetrics');
      return Object.fromEntries(list.map((one) => [one.name, one.value]));
    };
    const before = await metrics();
    const frames = await page.evaluate(async (px): Promise<Frames> => {
      const scroller = document.querySelector('[data-sticky]')?.closest('.scroller') as HTMLElement;
      const took: number[] = [];
      let last = performance.now();
      await new Promise<void>((done) => {
        const frame = (t: number) => {
          took.push(t - last);
          last = t;
          scroller.scrollTop += px;
          if (took.length < 300) requestAnimationFrame(frame);
          else done();
        };
        requestAnimationFrame(frame);
      });
      const sorted = took.slice(2).sort((a, b) => a - b);
      const at = (q: number) => Math.round((sorted[Math.floor(q * (sorted.length - 1))] ?? 0) * 10) / 10;
      return {
        n: sorted.length,
        p50: at(0.5),
        p95: at(0.95),
        p99: at(0.99),
        worst: at(1),
        long: sorted.filter((x) => x > 34).length,
      };
    }, by);
    const after = await metrics();
    const spent = ['ScriptDuration', 'LayoutDuration', 'RecalcStyleDuration', 'TaskDuration'].map(
      (name) =>
        `${name} ${((((after[name] ?? 0) - (before[name] ?? 0)) * 1000) / (frames.n + 2)).toFixed(2)}`,
    );
    console.log(`${words}: main thread, ms of processor time a frame: ${spent.join(', ')}`);
    console.log(`${words}: first pieces after ${shown} ms; frames ${JSON.stringify(frames)}`);
  });
