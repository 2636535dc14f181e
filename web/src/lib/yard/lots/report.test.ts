import { describe, expect, it } from 'vitest';
import { reportWords } from './report';

describe('reportWords', () => {
  it('says first that nothing was changed', () =>
    expect(
      reportWords({ changed: 0, unchanged: 0, errors: [{ line: 3, column: 'price', message: 'no number' }] }),
    ).toMatch(/^Nothing was changed: 1 line has/));
  it('counts what changed', () =>
    expect(reportWords({ changed: 2, unchanged: 3, errors: [] })).toBe(
      '2 pieces changed, 3 stayed as they were.',
    ));
});
