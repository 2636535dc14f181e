/** Which groups of the reckoning are open, kept in this browser. */
const KEY = 'lentic.bench.groups';

function kept(): Record<string, boolean> {
  try {
    const v: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    return v && typeof v === 'object' ? (v as Record<string, boolean>) : {};
  } catch {
    return {};
  }
}

let opened = $state<Record<string, boolean>>({ stands: true, ...kept() });

export function isOpen(name: string): boolean {
  return opened[name] ?? false;
}

export function keepOpen(name: string, open: boolean): void {
  opened = { ...opened, [name]: open };
  try {
    localStorage.setItem(KEY, JSON.stringify(opened));
  } catch {
    // Not kept, but shown.
  }
}
