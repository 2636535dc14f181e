/** Light or dark bench, as this browser's person last chose. */
const KEY = 'lentic.bench.dark';

function kept(): boolean {
  try {
    return localStorage.getItem(KEY) === '1';
  } catch {
    return false;
  }
}

class BenchTheme {
  dark = $state(kept());

  toggle(): void {
    this.dark = !this.dark;
    try {
      localStorage.setItem(KEY, this.dark ? '1' : '0');
    } catch {
      // Not kept, but shown.
    }
  }
}

export const benchTheme = new BenchTheme();
