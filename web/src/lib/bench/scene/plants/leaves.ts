// Leaves as bent strips, gathered into one geometry.

import { BufferGeometry, Color, Float32BufferAttribute } from 'three';
import type { Xyz } from '../../model';

export interface Blade {
  root: Xyz;
  azimuth: number;
  /** Radians above the horizon at the root and at the tip. */
  rise: number;
  tip: number;
  length: number;
  width: number;
  /** Where the leaf is widest, 0 root … 1 tip. */
  widest?: number;
  shade?: number;
  joints?: number;
}

export class Leaves {
  private readonly position: number[] = [];
  private readonly colour: number[] = [];
  private readonly index: number[] = [];
  private readonly base: Color;

  constructor(colour: string) {
    this.base = new Color(colour);
  }

  blade(b: Blade): Xyz {
    const n = b.joints ?? 4;
    const start = this.position.length / 3;
    const across: [number, number] = [-Math.sin(b.azimuth), Math.cos(b.azimuth)];
    const at: Xyz = [...b.root];
    const widest = b.widest ?? 0.45;
    for (let k = 0; k <= n; k++) {
      const t = k / n;
      const half = (b.width / 2) * outline(t, widest);
      // Darker at the root, where leaves shade each other.
      const light = (b.shade ?? 1) * (0.55 + 0.5 * t);
      for (const side of [-1, 1]) {
        this.position.push(at[0] + across[0] * half * side, at[1] + across[1] * half * side, at[2]);
        this.colour.push(this.base.r * light, this.base.g * light, this.base.b * light);
      }
      const rise = b.rise + (b.tip - b.rise) * t;
      const step = b.length / n;
      at[0] += Math.cos(b.azimuth) * Math.cos(rise) * step;
      at[1] += Math.sin(b.azimuth) * Math.cos(rise) * step;
      at[2] += Math.sin(rise) * step;
    }
    for (let k = 0; k < n; k++) {
      const a = start + 2 * k;
      this.index.push(a, a + 1, a + 2, a + 1, a + 3, a + 2);
    }
    return at;
  }

  built(): BufferGeometry {
    const g = new BufferGeometry();
    g.setAttribute('position', new Float32BufferAttribute(this.position, 3));
    g.setAttribute('color', new Float32BufferAttribute(this.colour, 3));
    g.setIndex(this.index);
    g.computeVertexNormals();
    return g;
  }
}

/** Half a leaf's outline: nothing at both ends, one where it is widest. */
function outline(t: number, widest: number): number {
  const u = t < widest ? t / widest : (1 - t) / (1 - widest);
  return Math.max(0.06, Math.sin((u * Math.PI) / 2));
}
