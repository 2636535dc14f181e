import { describe, expect, it } from 'vitest';
import { latest } from './latest';

describe('asking while dragging', () => {
  it('asks the first and the newest, never those between', async () => {
    const asked: number[] = [];
    const answered: number[] = [];
    let let_go: () => void = () => {};
    const l = latest<number, number>(
      (q) => {
        asked.push(q);
        return new Promise((r) => {
          let_go = () => r(q);
        });
      },
      (a) => answered.push(a),
    );
    for (const q of [1, 2, 3]) l.ask(q);
    let_go();
    for (let i = 0; i < 8; i++) await Promise.resolve();
    let_go();
    for (let i = 0; i < 8; i++) await Promise.resolve();
    expect(asked).toEqual([1, 3]);
    expect(answered).toEqual([1, 3]);
  });
});
