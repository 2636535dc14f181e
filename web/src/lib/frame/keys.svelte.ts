/** The keys that work on the page at hand, for the sheet that `?` opens. */
export interface KeyLine {
  /** As it stands on the keyboard: `G Y`, `Ctrl Z`, `1`. */
  keys: string;
  words: string;
}

export interface KeyGroup {
  title: string;
  lines: KeyLine[];
}

class KeySheet {
  groups = $state.raw<KeyGroup[]>([]);
  open = $state(false);

  /** Shows a page's keys while it is there: `$effect(() => keySheet.show('Bench', lines))`. */
  show(title: string, lines: KeyLine[]): () => void {
    const group = { title, lines };
    this.groups = [...this.groups, group];
    return () => {
      this.groups = this.groups.filter((other) => other !== group);
    };
  }
}

export const keySheet = new KeySheet();

/** Whether a stroke belongs to what is being typed and not to us. */
export function isTyping(event: KeyboardEvent): boolean {
  const at = event.target;
  if (!(at instanceof HTMLElement)) return false;
  return (
    at.isContentEditable ||
    at.matches('input:not([type="checkbox"], [type="radio"], [type="range"]), textarea, select')
  );
}
