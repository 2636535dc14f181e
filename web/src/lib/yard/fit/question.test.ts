import { describe, expect, it } from 'vitest';
import type { Vec2 } from '$lib/api/types';
import { signedArea } from '$lib/yard/outline';
import { bodyOf, firstQuestion, questionTrouble, readQuestion, writeQuestion } from './question';

function address(values: Record<string, string | number | null>): URLSearchParams {
  const query = new URLSearchParams();
  for (const [key, value] of Object.entries(values)) if (value !== null) query.set(key, String(value));
  return query;
}

const triangle: Vec2[] = [
  [0, 0],
  [0, 100],
  [100, 0],
];

describe('a question in an address', () => {
  it('comes back as it went, by box', () => {
    const q = { ...firstQuestion(), box: { width: 90, depth: 80, height: 70 }, kind: 'wood' as const };
    expect(readQuestion(address(writeQuestion(q)))).toEqual(q);
  });
  it('comes back as it went, by outline', () => {
    const q = { ...firstQuestion(), by: 'outline' as const, outline: triangle, ready: false };
    expect(readQuestion(address(writeQuestion(q)))).toEqual(q);
  });
  it('remembers that nothing is drawn yet', () => {
    const q = { ...firstQuestion(), by: 'outline' as const };
    expect(readQuestion(address(writeQuestion(q)))).toEqual(q);
  });
  it('forgets nonsense', () =>
    expect(readQuestion(new URLSearchParams('w=-5&d=wide&h=1e9'))).toEqual(firstQuestion()));
});

describe('what the server is asked', () => {
  it('goes round to the left whichever way it was drawn', () => {
    const body = bodyOf({ ...firstQuestion(), by: 'outline', outline: triangle });
    expect(signedArea(body.outline_mm as Vec2[])).toBe(5000);
  });
  it('leaves held and sold pieces out unless told otherwise', () => {
    expect(bodyOf(firstQuestion()).states).toEqual(['ready', 'on_display']);
    expect(bodyOf({ ...firstQuestion(), ready: false }).states).toContain('held');
  });
});

describe('questionTrouble', () => {
  it('asks for a drawing', () =>
    expect(questionTrouble({ ...firstQuestion(), by: 'outline' })).toContain('Draw'));
  it('sees a bow', () =>
    expect(
      questionTrouble({
        ...firstQuestion(),
        by: 'outline',
        outline: [
          [0, 0],
          [100, 100],
          [100, 0],
          [0, 100],
        ],
      }),
    ).toContain('crosses'));
});
