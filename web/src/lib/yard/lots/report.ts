/** What came of a CSV that was read in. */
import { counted } from '$lib/yard/words';

export interface CsvReport {
  changed: number;
  unchanged: number;
  errors: { line: number; column: string | number | null; message: string }[];
}

/** All or nothing: with a single error nothing was changed, and that is said first. */
export function reportWords(report: CsvReport): string {
  if (report.errors.length > 0)
    return `Nothing was changed: ${counted(report.errors.length, 'line has', 'lines have')} something wrong. Mend the file and read it in again.`;
  if (report.changed === 0)
    return `Nothing to change: all ${counted(report.unchanged, 'line')} say what the yard says.`;
  return `${counted(report.changed, 'piece')} changed, ${report.unchanged} stayed as they were.`;
}
