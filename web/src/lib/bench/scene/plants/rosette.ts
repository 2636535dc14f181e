// A rosette: broad leaves from one root, the outer ones lying lower.

import type { Growth } from './growth';
import { Leaves } from './leaves';

export function rosette({ height_mm, spread_mm, colour, random }: Growth) {
  const leaves = new Leaves(colour);
  const n = 18;
  for (let k = 0; k < n; k++) {
    const inner = k / n;
    const azimuth = k * 2.399963 + random() * 0.4;
    const rise = 0.55 + inner * 0.85;
    const length =
      Math.min(height_mm / Math.sin(Math.max(0.5, rise)), Math.hypot(height_mm, spread_mm / 2)) *
      (0.85 + 0.25 * random());
    leaves.blade({
      root: [Math.cos(azimuth) * 2, Math.sin(azimuth) * 2, 0],
      azimuth,
      rise,
      tip: rise - 0.9 + inner * 0.5,
      length,
      width: Math.max(3, spread_mm * 0.13),
      widest: 0.6,
      shade: 0.75 + 0.35 * random(),
      joints: 5,
    });
  }
  return leaves.built();
}
