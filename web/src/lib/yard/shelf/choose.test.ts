import { describe, expect, it } from 'vitest';
import { choose } from './choose';

const order = ['a', 'b', 'c', 'd'];

describe('choose', () => {
  it('adds one', () => expect([...choose(new Set(), order, 'b', '')]).toEqual(['b']));
  it('lets one go', () => expect([...choose(new Set(['b']), order, 'b', '')]).toEqual([]));
  it('takes a run, either way', () =>
    expect([...choose(new Set(['d']), order, 'b', 'd')].sort()).toEqual(['b', 'c', 'd']));
  it('takes just the one when the other end is gone', () =>
    expect([...choose(new Set(), order, 'b', 'x')]).toEqual(['b']));
});
