// A carpet: short blades close together over a round patch, following the ground.

import type { Growth } from './growth';
import { Leaves } from './leaves';

export function carpet({ height_mm, spread_mm, colour, random, rise_mm }: Growth) {
  const leaves = new Leaves(colour);
  const n = Math.min(900, Math.max(60, Math.round((spread_mm / 5.5) ** 2)));
  for (let k = 0; k < n; k++) {
    const r = (spread_mm / 2) * Math.sqrt((k + 0.5) / n);
    const a = k * 2.399963;
    const x = Math.cos(a) * r;
    const y = Math.sin(a) * r;
    const edge = 1 - 0.5 * (r / (spread_mm / 2)) ** 4;
    for (let b = 0; b < 2; b++) {
      leaves.blade({
        root: [x, y, rise_mm(x, y)],
        azimuth: random() * Math.PI * 2,
        rise: 1.0 + 0.4 * random(),
        tip: 0.5 + 0.6 * random(),
        length: height_mm * edge * (0.6 + 0.5 * random()),
        width: Math.max(1.4, height_mm * 0.16),
        shade: 0.75 + 0.4 * random(),
        joints: 2,
      });
    }
  }
  return leaves.built();
}
