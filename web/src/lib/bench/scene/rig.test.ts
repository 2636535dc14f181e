import { describe, expect, it } from 'vitest';
import { Rig } from './rig';

const near = (a: readonly number[], b: readonly number[], digits = 9) =>
  a.forEach((v, i) => {
    expect(v).toBeCloseTo(b[i] ?? Number.NaN, digits);
  });

describe('the eye', () => {
  function rig(view: 'front' | 'side' | 'plan' | 'free') {
    const r = new Rig();
    r.holdBox([-8, -8, -8], [592, 352, 352]);
    r.resize(1000, 700);
    r.look(view, true);
    return r;
  }
  it('sees x to the right and z up from the front', () => {
    const r = rig('front');
    const a = r.project([0, 0, 0]);
    const b = r.project([100, 0, 100]);
    expect(b.x - a.x).toBeCloseTo(100 * r.pxPerMm, 6);
    expect(a.y - b.y).toBeCloseTo(100 * r.pxPerMm, 6);
  });
  it('sees y to the right from the side, and y up in plan', () => {
    const side = rig('side');
    expect(side.project([0, 100, 0]).x).toBeGreaterThan(side.project([0, 0, 0]).x);
    const plan = rig('plan');
    expect(plan.project([0, 100, 0]).y).toBeLessThan(plan.project([0, 0, 0]).y);
    expect(plan.project([100, 0, 0]).x).toBeGreaterThan(plan.project([0, 0, 0]).x);
  });
  it.each(['front', 'side', 'plan', 'free'] as const)('sees the whole tank in %s view', (view) => {
    const r = rig(view);
    for (const x of [-8, 592])
      for (const y of [-8, 352])
        for (const z of [-8, 352]) {
          const p = r.project([x, y, z]);
          expect(p.x).toBeGreaterThan(0);
          expect(p.x).toBeLessThan(1000);
          expect(p.y).toBeGreaterThan(0);
          expect(p.y).toBeLessThan(700);
        }
  });
  it('finds back a place from where it lies on the screen', () => {
    const r = rig('free');
    const on = r.project([123, 45, 0]);
    near(r.meet(on.x, on.y, [0, 0, 0], [0, 0, 1])?.toArray() ?? [], [123, 45, 0], 3);
  });
  it('zooms about the pointer', () => {
    const r = rig('front');
    const before = r.meet(300, 200, [0, 0, 0], [0, 1, 0]);
    r.zoomAt(2, 300, 200);
    r.jump();
    near(r.meet(300, 200, [0, 0, 0], [0, 1, 0])?.toArray() ?? [], before?.toArray() ?? [], 4);
  });
});
