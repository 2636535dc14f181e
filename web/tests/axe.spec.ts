import AxeBuilder from '@axe-core/playwright';
import { screens } from './screens';
import { expect, test } from './workshop';

test('axe finds nothing serious on any screen', async ({ page, demo }) => {
  test.setTimeout(300_000);
  for (const screen of await screens(demo.address)) {
    await test.step(screen.name, async () => {
      await page.goto(screen.path);
      await screen.ready(page);
      const found = await new AxeBuilder({ page })
        .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
        .analyze();
      const serious = found.violations.filter((one) => one.impact === 'serious' || one.impact === 'critical');
      const words = serious.map(
        (one) => `${one.id}: ${one.help}\n  ${one.nodes.map((node) => node.target.join(' ')).join('\n  ')}`,
      );
      expect.soft(words, screen.name).toEqual([]);
    });
  }
});
