// Moss: a low cushion of very short shoots.

import type { Growth } from './growth';
import { Leaves } from './leaves';

export function moss({ height_mm, spread_mm, colour, random, rise_mm }: Growth) {
  const leaves = new Leaves(colour);
  const n = Math.min(800, Math.max(80, Math.round((spread_mm / 4.5) ** 2)));
  const shoot = Math.max(3, height_mm * 0.32);
  for (let k = 0; k < n; k++) {
    const u = Math.sqrt((k + 0.5) / n);
    const a = k * 2.399963;
    const r = (spread_mm / 2) * u;
    const x = Math.cos(a) * r;
    const y = Math.sin(a) * r;
    const dome = Math.max(0, height_mm - shoot * 0.7) * Math.sqrt(1 - u * u);
    const lean = Math.PI / 2 - u * 1.1;
    for (let b = 0; b < 3; b++) {
      leaves.blade({
        root: [x, y, rise_mm(x, y) + dome],
        azimuth: a + (random() - 0.5) * 2.6,
        rise: lean,
        tip: lean - 0.7 * random(),
        length: shoot * (0.6 + 0.6 * random()),
        width: Math.max(1.4, shoot * 0.28),
        shade: 0.55 + 0.55 * random() - 0.15 * u,
        joints: 2,
      });
    }
  }
  return leaves.built();
}
