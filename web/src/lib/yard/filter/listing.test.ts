import { afterEach, describe, expect, it, vi } from 'vitest';
import { noFilters } from './filters';
import { Listing } from './listing.svelte';

/** A yard of n pieces that answers in parts, each after a turn of the event loop. */
function yard(n: number): string[] {
  const asked: string[] = [];
  vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
    const query = new URL(path, 'http://yard').searchParams;
    const offset = Number(query.get('offset'));
    const limit = Number(query.get('limit'));
    asked.push(`${offset}+${limit}`);
    await new Promise((resolve) => setTimeout(resolve));
    if (init.signal?.aborted) throw new DOMException('Stopped', 'AbortError');
    const pieces = Array.from({ length: Math.max(0, Math.min(limit, n - offset)) }, (_, i) => ({
      tag: `S-${offset + i}`,
    }));
    return new Response(JSON.stringify({ total: n, pieces, facets: {} }));
  });
  return asked;
}

afterEach(() => vi.unstubAllGlobals());

describe('Listing', () => {
  it('fetches the first screen, then the rest in parts', async () => {
    const asked = yard(2500);
    const listing = new Listing();
    await listing.ask(noFilters());
    expect(asked).toEqual(['0+200', '200+1000', '1200+1000', '2200+1000']);
    expect(listing.pieces).toHaveLength(2500);
  });

  it('ends though somebody scrolls to the end meanwhile', async () => {
    yard(2500);
    const listing = new Listing();
    const asking = listing.ask(noFilters());
    const scrolling = setInterval(() => void listing.more());
    await asking;
    clearInterval(scrolling);
    expect(new Set(listing.pieces.map((piece) => piece.tag)).size).toBe(2500);
    expect(listing.pieces).toHaveLength(2500);
  });

  it('waits for scrolling beyond five thousand', async () => {
    yard(7000);
    const listing = new Listing();
    await listing.ask(noFilters());
    const before = listing.pieces.length;
    expect(before).toBeLessThan(7000);
    await listing.more();
    expect(listing.pieces.length).toBeGreaterThan(before);
  });

  it('forgets an older question', async () => {
    yard(300);
    const listing = new Listing();
    const older = listing.ask({ ...noFilters(), text: 'old' });
    yard(20);
    await listing.ask(noFilters());
    await older;
    expect(listing.pieces).toHaveLength(20);
  });

  it('stops quietly', async () => {
    const asked = yard(5000);
    const listing = new Listing();
    const asking = listing.ask(noFilters());
    listing.end();
    await asking;
    expect(asked).toEqual(['0+200']);
  });
});
