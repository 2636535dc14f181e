// A fern: fronds that arch outwards, with small leaves on both sides of the rib.

import type { Growth } from './growth';
import { Leaves } from './leaves';

export function fern({ height_mm, spread_mm, colour, random }: Growth) {
  const leaves = new Leaves(colour);
  const n = 13;
  for (let k = 0; k < n; k++) {
    const azimuth = k * 2.399963 + random() * 0.3;
    const rise = 0.75 + 0.6 * (k / n);
    const bend = rise - 1.15;
    const length = Math.hypot(height_mm, spread_mm / 2) * (0.8 + 0.25 * random());
    const shade = 0.7 + 0.35 * random();
    const joints = 9;
    let x = 0;
    let y = 0;
    let z = 0;
    for (let j = 0; j < joints; j++) {
      const t = j / joints;
      const up = rise + (bend - rise) * t;
      const step = length / joints;
      x += Math.cos(azimuth) * Math.cos(up) * step;
      y += Math.sin(azimuth) * Math.cos(up) * step;
      z += Math.sin(up) * step;
      const size = length * 0.2 * Math.sin(Math.PI * (0.15 + 0.8 * t));
      for (const side of [-1, 1]) {
        leaves.blade({
          root: [x, y, Math.max(0.5, z)],
          azimuth: azimuth + side * 1.15,
          rise: up * 0.4,
          tip: up * 0.4 - 0.3,
          length: size,
          width: size * 0.36,
          shade: shade * (0.8 + 0.3 * t),
          joints: 2,
        });
      }
    }
    leaves.blade({
      root: [0, 0, 0],
      azimuth,
      rise,
      tip: bend,
      length,
      width: 1.6,
      widest: 0.1,
      shade: shade * 0.8,
      joints: 9,
    });
  }
  return leaves.built();
}
