/** Every screen, by name, address and what must be there before it is looked at. */
import { expect, type Page } from '@playwright/test';

export interface Screen {
  name: string;
  path: string;
  ready: (page: Page) => Promise<void>;
}

const heading = async (page: Page) => {
  await expect(page.getByRole('heading', { level: 1 }).first()).toBeVisible();
  await expect(page.getByText('One moment…')).toHaveCount(0);
};

/** The bench is there when its 3D scene has been drawn. */
const drawn = async (page: Page) => {
  await expect(page.locator('[data-ready]').first()).toBeVisible({ timeout: 60_000 });
};

/** The screens of a running workshop: the first piece, layout and commission that it has. */
export async function screens(address: string): Promise<Screen[]> {
  const get = async (path: string) => (await fetch(`${address}${path}`)).json();
  const tag: string | undefined = (await get('/api/pieces?limit=1')).pieces[0]?.tag;
  const layout: number | undefined = (await get('/api/layouts'))[0]?.id;
  const commission: number | undefined = (await get('/api/commissions'))[0]?.id;
  const list: Screen[] = [
    { name: 'today', path: '/', ready: heading },
    { name: 'yard', path: '/yard', ready: heading },
    { name: 'taking-in', path: '/yard/taking-in', ready: heading },
    { name: 'fit', path: '/yard/fit', ready: heading },
    { name: 'lots', path: '/yard/lots', ready: heading },
    { name: 'bench', path: '/bench', ready: heading },
    { name: 'commissions', path: '/commissions', ready: heading },
    { name: 'commission-new', path: '/commissions/new', ready: heading },
    { name: 'methods', path: '/methods', ready: heading },
    { name: 'method', path: '/methods/scape.ground', ready: heading },
    { name: 'settings', path: '/settings', ready: heading },
    { name: 'nothing', path: '/no/such/page', ready: heading },
  ];
  if (tag) list.push({ name: 'piece', path: `/yard/${tag}`, ready: heading });
  if (layout) list.push({ name: 'bench-layout', path: `/bench/${layout}`, ready: drawn });
  if (commission) list.push({ name: 'commission', path: `/commissions/${commission}`, ready: heading });
  return list;
}
