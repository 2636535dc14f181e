/** Findings of all groups, the loudest first, each said once. */
import type { Finding, ReckoningGroup, Severity } from '$lib/api/types';

const WEIGHT: Record<Severity, number> = { danger: 0, warning: 1, note: 2 };

export function loudest(groups: readonly ReckoningGroup[]): Finding[] {
  const seen = new Set<string>();
  return groups
    .flatMap((g) => g.findings)
    .filter((f) => {
      const key = `${f.rule} ${f.tag ?? ''} ${f.text}`;
      if (seen.has(key)) return false;
      seen.add(key);
      return true;
    })
    .sort((a, b) => WEIGHT[a.severity] - WEIGHT[b.severity]);
}

/** The labels of a table's columns: figures that most rows have, in the order in which they first come. */
export function columnsOf(rows: readonly { figures: readonly { label: string }[] }[]): string[] {
  const labels = rows.flatMap((r) => r.figures.map((f) => f.label));
  const often = (label: string) => labels.filter((l) => l === label).length * 2 > rows.length;
  return [...new Set(labels)].filter(often);
}
