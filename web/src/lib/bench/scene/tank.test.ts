import { describe, expect, it } from 'vitest';
import { holds } from '../heap';
import { panesOf } from './glass';
import { heightAt } from './ground';

describe('the tank', () => {
  it('is made of panes that fill its walls once: glass volume by closed form', () => {
    const [l, w, h, t, b] = [900, 450, 450, 10, 12];
    const panes = panesOf({ outside_mm: [l, w, h], glass_mm: t, base_mm: b, water_line_mm: 400 });
    const volume = panes.reduce(
      (s, p) => s + p.to_mm.reduce((v, to, i) => v * (to - (p.from_mm[i] ?? 0)), 1),
      0,
    );
    expect(volume).toBeCloseTo(l * w * h - (l - 2 * t) * (w - 2 * t) * (h - b), 6);
  });
  it('gives the ground’s height between nodes', () => {
    const g = {
      nx: 2,
      ny: 2,
      cell_mm: 10,
      heights_mm: [0, 10, 20, 30],
      colours: ['#fff'],
      material: [0, 0, 0, 0],
    };
    expect(heightAt(g, 5, 5)).toBeCloseTo(15, 4);
    expect(heightAt(g, 0, 10)).toBeCloseTo(20, 3);
  });
  it('knows inside from outside of a region', () => {
    const l: [number, number][] = [
      [0, 0],
      [10, 0],
      [10, 4],
      [4, 4],
      [4, 10],
      [0, 10],
    ];
    expect(holds(l, [2, 8])).toBe(true);
    expect(holds(l, [8, 8])).toBe(false);
  });
});
