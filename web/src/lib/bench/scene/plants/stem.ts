// Stems in a bunch, with a whorl of leaves at each joint.

import type { Growth } from './growth';
import { Leaves } from './leaves';

export function stem({ height_mm, spread_mm, colour, random }: Growth) {
  const leaves = new Leaves(colour);
  const n_stems = 7;
  for (let s = 0; s < n_stems; s++) {
    const a = s * 2.399963;
    const r = (spread_mm / 2) * 0.55 * Math.sqrt(s / n_stems);
    const high = height_mm * (0.72 + 0.28 * random());
    const lean = 0.06 + 0.06 * random();
    const x = Math.cos(a) * r;
    const y = Math.sin(a) * r;
    leaves.blade({
      root: [x, y, 0],
      azimuth: a,
      rise: Math.PI / 2 - lean,
      tip: Math.PI / 2 - lean,
      length: high,
      width: 3.2,
      widest: 0.1,
      shade: 0.8,
    });
    const joints = Math.max(4, Math.round(high / 13));
    for (let j = 1; j <= joints; j++) {
      const t = j / joints;
      const out = Math.sin(lean) * high * t;
      const size = spread_mm * 0.24 * (1.1 - 0.55 * t);
      for (let w = 0; w < 4; w++) {
        const azimuth = a + j * 0.7 + (w * Math.PI) / 2;
        leaves.blade({
          root: [x + Math.cos(a) * out, y + Math.sin(a) * out, high * t],
          azimuth,
          rise: 0.5,
          tip: 0.15 + 0.9 * t,
          length: size,
          width: size * 0.36,
          shade: 0.7 + 0.4 * t + 0.15 * random(),
          joints: 2,
        });
      }
    }
  }
  return leaves.built();
}
