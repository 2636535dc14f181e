/** The screens that the rail leads to. `key` is the second stroke after `g`. */
export interface Way {
  href: string;
  label: string;
  key: string;
  /** A line drawing in a 24 × 24 box. */
  drawing: string;
  /** Has a place in the bar of a phone; the others are in the menu there. */
  phone: boolean;
}

export const WAYS: readonly Way[] = [
  {
    href: '/',
    label: 'Today',
    key: 't',
    phone: true,
    drawing: 'M5 5h14v15H5zM5 9.5h14M9 3v3.5M15 3v3.5M8.5 15l2.2 2.2 4.6-4.6',
  },
  {
    href: '/yard',
    label: 'Yard',
    key: 'y',
    phone: true,
    drawing: 'M3 19.5h18M4 19.5l1.5-5 4-2 3.5 3 1 4M13.5 16l2-6 3.5-1 2 5-.8 5.5',
  },
  {
    href: '/bench',
    label: 'Bench',
    key: 'b',
    phone: true,
    drawing: 'M3 5v14h18V5M3 8.5h18M3 16.5c4-2.5 7-.5 10-1.2s5-1.6 8-.8M9 15.6l1.5-4.3 3 .8 1.3 3',
  },
  {
    href: '/commissions',
    label: 'Commissions',
    key: 'c',
    phone: true,
    drawing: 'M6 3.5h9l3 3V20.5H6zM15 3.5v3h3M9 11h6M9 14h6M9 17h3.5',
  },
  {
    href: '/methods',
    label: 'Methods',
    key: 'm',
    phone: false,
    drawing: 'M4 19.5L19.5 4v15.5zM10.5 16.5h6v-6M7 16.5l1 1M10 13.5l1 1M13 10.5l1 1',
  },
];

/** Whether a way is the one that the window stands on. */
export function isHere(href: string, path: string): boolean {
  return href === '/' ? path === '/' : path === href || path.startsWith(`${href}/`);
}
