import { describe, expect, it } from 'vitest';
import type { Commission, LayoutCard } from '$lib/api/types';
import { nextStep } from './states';

const layout: LayoutCard = {
  id: 7,
  title: 'Still pool',
  commission: 1,
  pieces: 5,
  changed_at_ms: 0,
  stands: false,
  picture: null,
};
const tank = { outside_mm: [600, 360, 360] as [number, number, number], glass_mm: 8, water_line_mm: 320 };
const base: Commission = {
  id: 1,
  number: '2026-001',
  customer: 'A',
  contact: '',
  state: 'enquiry',
  brief: { wish: 'quiet' },
  layouts: [],
  history: [],
  version: 1,
};

describe('nextStep', () => {
  it('asks for the tank first', () => expect(nextStep(base)?.act).toEqual({ kind: 'brief' }));
  it('then for a layout', () =>
    expect(nextStep({ ...base, brief: { wish: '', tank } })?.act).toEqual({ kind: 'layout' }));
  it('goes on with what does not stand', () =>
    expect(nextStep({ ...base, brief: { wish: '', tank }, layouts: [layout] })?.act).toEqual({
      kind: 'open',
      href: '/bench/7',
    }));
  it('asks for the customer’s word once one stands', () =>
    expect(
      nextStep({
        ...base,
        state: 'composing',
        brief: { wish: '', tank },
        layouts: [{ ...layout, stands: true }],
      })?.act,
    ).toEqual({ kind: 'state', to: 'agreed' }));
  it('has none at the end', () => expect(nextStep({ ...base, state: 'handed_over' })).toBeNull());
});
