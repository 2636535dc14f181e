import { describe, expect, it } from 'vitest';
import { matchPath, patternOf } from './match';

const patterns = ['/', '/yard', '/yard/[tag]', '/yard/taking-in', '/bench/[id]'];

describe('matchPath', () => {
  it('finds the first page', () => expect(matchPath(patterns, '/')?.pattern).toBe('/'));
  it('reads a tag', () => expect(matchPath(patterns, '/yard/S-0148')?.params).toEqual({ tag: 'S-0148' }));
  it('prefers a fixed word', () =>
    expect(matchPath(patterns, '/yard/taking-in')?.pattern).toBe('/yard/taking-in'));
  it('takes a trailing stroke', () => expect(matchPath(patterns, '/yard/')?.pattern).toBe('/yard'));
  it('knows no more than it has', () => expect(matchPath(patterns, '/yard/S-1/more')).toBeNull());
  it('refuses a broken escape', () => expect(matchPath(patterns, '/yard/%E0%A4%A')).toBeNull());
});

describe('patternOf', () => {
  it('names the first page', () => expect(patternOf('./routes/Page.svelte')).toBe('/'));
  it('names a page by its folder', () =>
    expect(patternOf('./routes/yard/[tag]/Page.svelte')).toBe('/yard/[tag]'));
});
