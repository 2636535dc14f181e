// Where the eye is: front, side, plan or free, how near, and which place lies in the middle.

import { MathUtils, OrthographicCamera, PerspectiveCamera, Plane, Ray, Vector2, Vector3 } from 'three';
import type { Xyz } from '../model';

export type View = 'front' | 'side' | 'plan' | 'free';
export const VIEWS: readonly View[] = ['front', 'side', 'plan', 'free'];

interface Stand {
  azimuth: number;
  elevation: number;
  scale: number;
  target: Vector3;
}

const ANGLES: Record<View, [number, number]> = {
  front: [0, 0],
  side: [90, 0],
  plan: [0, 90],
  free: [-24, 17],
};
const FIELD_DEG = 26;
const LEAST_PX_MM = 0.05;
const MOST_PX_MM = 40;
const HALF_LIFE_S = 0.055;

export class Rig {
  view: View = 'free';
  /** The eye was moved by hand since the whole tank was last looked at. */
  moved = false;
  readonly flat = new OrthographicCamera();
  readonly deep = new PerspectiveCamera(FIELD_DEG);
  size = new Vector2(1, 1);
  private now: Stand = { azimuth: -24, elevation: 17, scale: 1, target: new Vector3() };
  private goal: Stand = { azimuth: -24, elevation: 17, scale: 1, target: new Vector3() };
  private box: [Vector3, Vector3] = [new Vector3(), new Vector3(1, 1, 1)];
  private margin = { left: 40, right: 40, top: 40, bottom: 40 };

  get camera(): OrthographicCamera | PerspectiveCamera {
    return this.view === 'free' ? this.deep : this.flat;
  }

  /** Pixels to a millimetre, at the target's depth. */
  get pxPerMm(): number {
    return this.now.scale;
  }

  get azimuth_deg(): number {
    return this.now.azimuth;
  }

  get moving(): boolean {
    const { now, goal } = this;
    return (
      Math.abs(now.azimuth - goal.azimuth) > 0.02 ||
      Math.abs(now.elevation - goal.elevation) > 0.02 ||
      Math.abs(Math.log(now.scale / goal.scale)) > 0.001 ||
      now.target.distanceTo(goal.target) > 0.05
    );
  }

  /** What must be seen as a whole: the outside of the tank, tank frame. */
  holdBox(from: Xyz, to: Xyz): void {
    this.box = [new Vector3(...from), new Vector3(...to)];
  }

  resize(width: number, height: number, margin: Partial<Rig['margin']> = {}): void {
    this.size.set(Math.max(1, width), Math.max(1, height));
    this.margin = { ...this.margin, ...margin };
    this.place();
  }

  look(view: View, jump = false): void {
    this.view = view;
    const [azimuth, elevation] = ANGLES[view];
    this.goal.azimuth = azimuth;
    this.goal.elevation = elevation;
    this.fit(jump);
  }

  /** The whole tank, in the middle of what the panels leave free. */
  fit(jump = false): void {
    this.moved = false;
    const { goal } = this;
    const middle = this.box[0].clone().add(this.box[1]).multiplyScalar(0.5);
    const { right, up, towards } = axes(goal.azimuth, goal.elevation);
    const m = this.margin;
    const free = Math.max(60, this.size.x - m.left - m.right) / 2;
    const high = Math.max(60, this.size.y - m.top - m.bottom) / 2;
    /** Pixels from the eye to the picture; a corner nearer by t mm shows larger by 1/(1 − t·scale/far). */
    const far =
      this.view === 'free' ? this.size.y / 2 / Math.tan(MathUtils.degToRad(FIELD_DEG / 2)) : Infinity;
    goal.scale = MOST_PX_MM;
    for (const corner of corners(this.box)) {
      const d = corner.sub(middle);
      const t = d.dot(towards);
      for (const [room, off] of [
        [free, Math.abs(d.dot(right))],
        [high, Math.abs(d.dot(up))],
      ] as const) {
        goal.scale = Math.min(goal.scale, room / Math.max(1e-6, off + (room * t) / far));
      }
    }
    const dx = (m.right - m.left) / 2 / goal.scale;
    const dy = (m.top - m.bottom) / 2 / goal.scale;
    goal.target.copy(middle).addScaledVector(right, dx).addScaledVector(up, dy);
    if (jump) this.jump();
  }

  jump(): void {
    this.now = { ...this.goal, target: this.goal.target.clone() };
    this.place();
  }

  /** Zooms so that what lies under the place on the screen stays there. */
  zoomAt(factor: number, px: number, py: number): void {
    this.moved = true;
    const before = this.goal.scale;
    const scale = MathUtils.clamp(before * factor, LEAST_PX_MM, MOST_PX_MM);
    const { right, up } = axes(this.goal.azimuth, this.goal.elevation);
    const dx = px - this.size.x / 2;
    const dy = this.size.y / 2 - py;
    const shift = 1 / before - 1 / scale;
    this.goal.target.addScaledVector(right, dx * shift).addScaledVector(up, dy * shift);
    this.goal.scale = scale;
  }

  pan(dx_px: number, dy_px: number): void {
    this.moved = true;
    const { right, up } = axes(this.goal.azimuth, this.goal.elevation);
    const k = 1 / this.goal.scale;
    this.goal.target.addScaledVector(right, -dx_px * k).addScaledVector(up, dy_px * k);
  }

  orbit(dx_px: number, dy_px: number): void {
    this.moved = true;
    this.goal.azimuth -= dx_px * 0.35;
    this.goal.elevation = MathUtils.clamp(this.goal.elevation + dy_px * 0.3, -10, 89);
  }

  /** Goes on towards the goal. True while there is still way to go. */
  advance(dt_s: number, still: boolean): boolean {
    if (!this.moving || still) {
      this.jump();
      return false;
    }
    const k = 1 - 0.5 ** (dt_s / HALF_LIFE_S);
    const { now, goal } = this;
    now.azimuth += (goal.azimuth - now.azimuth) * k;
    now.elevation += (goal.elevation - now.elevation) * k;
    now.scale *= (goal.scale / now.scale) ** k;
    now.target.lerp(goal.target, k);
    if (!this.moving) this.jump();
    else this.place();
    return true;
  }

  /** Where a place in the tank frame lies on the screen. */
  project(p: Xyz | Vector3): { x: number; y: number; behind: boolean } {
    const v = p instanceof Vector3 ? p.clone() : new Vector3(...p);
    v.project(this.camera);
    return {
      x: ((v.x + 1) / 2) * this.size.x,
      y: ((1 - v.y) / 2) * this.size.y,
      behind: v.z > 1 || v.z < -1,
    };
  }

  ray(px: number, py: number): Ray {
    const x = (px / this.size.x) * 2 - 1;
    const y = 1 - (py / this.size.y) * 2;
    const near = new Vector3(x, y, -1).unproject(this.camera);
    const far = new Vector3(x, y, 1).unproject(this.camera);
    return new Ray(near, far.sub(near).normalize());
  }

  /** Where the line of sight meets the plane through `at` with this normal. */
  meet(px: number, py: number, at: Xyz, normal: Xyz): Vector3 | null {
    const n = new Vector3(...normal).normalize();
    return this.ray(px, py).intersectPlane(
      new Plane().setFromNormalAndCoplanarPoint(n, new Vector3(...at)),
      new Vector3(),
    );
  }

  /** Right, up and towards the eye, in the tank frame. */
  axes(): { right: Vector3; up: Vector3; towards: Vector3 } {
    return axes(this.now.azimuth, this.now.elevation);
  }

  private place(): void {
    const { now, size } = this;
    const { up, towards } = axes(now.azimuth, now.elevation);
    const perMm = 1 / now.scale;
    const tall = size.y * perMm;
    const away = this.view === 'free' ? tall / 2 / Math.tan(MathUtils.degToRad(FIELD_DEG / 2)) : 4000;
    const camera = this.camera;
    camera.position.copy(now.target).addScaledVector(towards, away);
    camera.up.copy(up);
    camera.lookAt(now.target);
    if (camera === this.flat) {
      const halfX = (size.x * perMm) / 2;
      Object.assign(this.flat, {
        left: -halfX,
        right: halfX,
        top: tall / 2,
        bottom: -tall / 2,
        near: 1,
        far: 9000,
      });
    } else {
      Object.assign(this.deep, { aspect: size.x / size.y, near: Math.max(5, away / 60), far: away + 6000 });
    }
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld(true);
  }
}

function axes(azimuth_deg: number, elevation_deg: number) {
  const a = MathUtils.degToRad(azimuth_deg);
  const e = MathUtils.degToRad(elevation_deg);
  const towards = new Vector3(Math.sin(a) * Math.cos(e), -Math.cos(a) * Math.cos(e), Math.sin(e));
  const up = new Vector3(-Math.sin(a) * Math.sin(e), Math.cos(a) * Math.sin(e), Math.cos(e));
  const right = new Vector3(Math.cos(a), Math.sin(a), 0);
  return { right, up, towards };
}

function corners([a, b]: [Vector3, Vector3]): Vector3[] {
  const all: Vector3[] = [];
  for (const x of [a.x, b.x])
    for (const y of [a.y, b.y]) for (const z of [a.z, b.z]) all.push(new Vector3(x, y, z));
  return all;
}
