/** The canvas as the overlay sees it: where a place in the tank lies on the screen, renewed with every frame. */
import type { Xyz } from './model';
import type { Stage } from './scene/stage';
import type { World } from './scene/world';

export interface OnScreen {
  x: number;
  y: number;
}

export class Eye {
  /** Grows with every frame; reading it makes a drawing follow the eye. */
  tick = $state(0);
  width = $state(1);
  height = $state(1);
  stage = $state.raw<Stage | null>(null);
  world = $state.raw<World | null>(null);

  at(p: Xyz): OnScreen {
    void this.tick;
    const on = this.stage?.rig.project(p);
    return on ? { x: on.x, y: on.y } : { x: -1e4, y: -1e4 };
  }

  get azimuth_deg(): number {
    void this.tick;
    return this.stage?.rig.azimuth_deg ?? 0;
  }

  get pxPerMm(): number {
    void this.tick;
    return this.stage?.rig.pxPerMm ?? 1;
  }

  /** Where a place on the screen lies on the plane through a point. */
  meet(x: number, y: number, at: Xyz, normal: Xyz): Xyz | null {
    const v = this.stage?.rig.meet(x, y, at, normal);
    return v ? [v.x, v.y, v.z] : null;
  }

  /** A direction that faces the eye but stays upright: the plane for moving things up and down. */
  upright(): Xyz {
    const t = this.stage?.rig.axes().towards;
    if (!t || Math.hypot(t.x, t.y) < 1e-3) return [0, -1, 0];
    return [t.x, t.y, 0];
  }

  box(tag: string): { min: Xyz; max: Xyz } | null {
    void this.tick;
    const b = this.world?.boxOf(tag);
    if (!b || !Number.isFinite(b.min.x)) return null;
    return { min: [b.min.x, b.min.y, b.min.z], max: [b.max.x, b.max.y, b.max.z] };
  }
}
