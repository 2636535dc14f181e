import { expect, it } from 'vitest';
import { loudest } from './findings';

it('the loudest finding comes first, and each but once', () => {
  const f = (severity: 'note' | 'warning' | 'danger', text: string) => ({ rule: text, severity, text });
  const group = (findings: ReturnType<typeof f>[]) => ({
    name: 'g',
    title: 'G',
    stale: false,
    figures: [],
    rows: [],
    findings,
    cautions: [],
  });
  const all = loudest([
    group([f('note', 'a'), f('danger', 'b')]),
    group([f('warning', 'c'), f('note', 'a')]),
  ]);
  expect(all.map((x) => x.text)).toEqual(['b', 'c', 'a']);
});
