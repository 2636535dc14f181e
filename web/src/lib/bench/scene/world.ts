// Everything in the tank, kept in step with the layout: what is new comes, what is gone goes, what moved moves.

import { type Group, type Mesh, type Ray, Raycaster, type Vector3 } from 'three';
import {
  baseMm,
  type Composition,
  type Ground,
  insideMm,
  type PieceDetail,
  type Placed,
  type Pose,
  type Tank,
  type Xyz,
} from '../model';
import { glass, water } from './glass';
import { ground } from './ground';
import { type Picked, pick } from './picking';
import { type Mark, PieceObject, tuneRims } from './piece';
import { plant } from './plants';
import type { Level, Scans } from './scans';
import type { Stage } from './stage';
import type { Tones } from './tones';

/** A piece this wide on the screen is worth its fine scan. */
const NEAR_PX = 150;

export class World {
  readonly pieces = new Map<string, PieceObject>();
  private vessel: Group[] = [];
  private bed: Group | null = null;
  private plants: Group[] = [];
  private seen = { tank: '', ground: null as Ground | null, plants: '' };
  private readonly wanted = new Map<string, Level>();
  private readonly failed = new Set<string>();
  coarse = false;
  private inside: Xyz = [0, 0, 0];

  constructor(
    readonly stage: Stage,
    private readonly scans: Scans,
    private readonly detail: (tag: string) => Promise<PieceDetail>,
    private tones: Tones,
    /** Called when a scan has come, or couldn't be had. */
    private readonly loaded: (missing?: string) => void,
  ) {}

  /** Every scan that can be had is here. */
  get complete(): boolean {
    return [...this.pieces.values()].every((p) => p.level !== null || this.failed.has(p.tag));
  }

  setTones(tones: Tones): void {
    this.tones = tones;
    this.seen.tank = '';
  }

  tank(tank: Tank): void {
    const key = JSON.stringify(tank) + this.tones.dark;
    if (key === this.seen.tank) return;
    const [l, w, h] = tank.outside_mm;
    this.inside = insideMm(tank);
    const resized = !this.seen.tank.startsWith(JSON.stringify(tank));
    this.seen.tank = key;
    for (const g of this.vessel) this.stage.scene.remove(g);
    this.vessel = [glass(tank, this.tones), water(tank, this.tones)];
    this.stage.scene.add(...this.vessel);
    const t = tank.glass_mm;
    const b = baseMm(tank);
    this.stage.rig.holdBox([-t, -t, -b], [l - t, w - t, h - b]);
    if (resized) this.stage.furnish(insideMm(tank), b);
    this.stage.changed();
  }

  ground(g: Ground | null, tank: Tank): void {
    if (g === this.seen.ground) return;
    this.seen.ground = g;
    if (this.bed) {
      this.stage.scene.remove(this.bed);
      for (const m of this.bed.children) (m as Mesh).geometry.dispose();
    }
    this.bed = g ? ground(g, insideMm(tank)) : null;
    if (this.bed) this.stage.scene.add(this.bed);
    this.seen.plants = '';
    this.stage.changed();
  }

  grow(c: Composition, g: Ground | null): void {
    const key = JSON.stringify(c.plant ?? []);
    if (key === this.seen.plants) return;
    this.seen.plants = key;
    for (const p of this.plants) {
      this.stage.scene.remove(p);
      for (const m of p.children) (m as Mesh).geometry.dispose();
    }
    this.plants = (c.plant ?? []).map((p, i) => plant(p, i, g));
    if (this.plants.length) this.stage.scene.add(...this.plants);
    this.stage.changed();
  }

  /** Pieces and where they are; `poses` are those that aren't where the server last saw them. */
  lay(c: Composition, placed: readonly Placed[], poses: ReadonlyMap<string, Pose>): void {
    const there = new Set<string>();
    for (const p of placed) {
      const composed = c.piece.find((x) => x.tag === p.tag);
      if (!composed) continue;
      there.add(p.tag);
      const piece = this.piece(p.tag);
      piece.outline(composed.at_mm, p.width_mm, p.depth_mm, p.low_mm, p.high_mm, this.tones);
      piece.put(poses.get(p.tag) ?? p.pose);
    }
    for (const [tag, pose] of poses) {
      if (there.has(tag)) continue;
      there.add(tag);
      this.piece(tag).put(pose);
    }
    for (const [tag, piece] of this.pieces) {
      if (there.has(tag)) continue;
      this.stage.scene.remove(piece.group);
      this.pieces.delete(tag);
      this.wanted.delete(tag);
    }
    this.stage.changed();
  }

  marks(chosen: string | null, over: string | null): void {
    const { x, y } = this.stage.rig.size;
    tuneRims(this.tones, x, y);
    for (const [tag, piece] of this.pieces) {
      const mark: Mark = tag === chosen ? 'chosen' : tag === over ? 'over' : 'none';
      piece.mark(mark);
    }
    this.stage.ask();
  }

  fade(on: boolean): void {
    for (const p of this.pieces.values()) p.fade(on);
    this.stage.changed();
  }

  /** Fetches the finer scan of what has come near; called after the eye has moved. */
  refine(): void {
    if (this.coarse) return;
    for (const piece of this.pieces.values()) {
      const sphere = piece.geometry?.boundingSphere;
      if (!sphere || piece.level === 'near') continue;
      if (sphere.radius * 2 * this.stage.rig.pxPerMm >= NEAR_PX) this.fetch(piece, 'near');
    }
  }

  pick(px: number, py: number): Picked | null {
    return pick(this.stage.rig.ray(px, py), this.pieces.values());
  }

  private others(without?: string): PieceObject[] {
    return [...this.pieces.values()].filter((p) => p.tag !== without);
  }

  pickPlant(px: number, py: number): number | null {
    const hits = new Raycaster(...rayParts(this.stage.rig.ray(px, py))).intersectObjects(this.plants, true);
    const group = hits[0]?.object.parent;
    return group ? (group.userData.plant as number) : null;
  }

  /** Shows a plant held over a place; null puts it back. */
  carryPlant(index: number, at: Xyz | null): void {
    const g = this.plants[index];
    if (!g) return;
    if (!g.userData.home) g.userData.home = g.position.clone();
    if (at) g.position.set(...at);
    else g.position.copy(g.userData.home as Vector3);
    this.stage.changed();
  }

  /** The place in view: a piece, the ground, or the base; `without` is looked through. */
  place(px: number, py: number, without?: string): { point: Xyz; what: string } | null {
    const ray = this.stage.rig.ray(px, py);
    const piece = pick(ray, this.others(without));
    const hit = this.bed ? new Raycaster(...rayParts(ray)).intersectObject(this.bed, true)[0] : undefined;
    if (piece && (!hit || piece.distance < hit.distance))
      return { point: piece.point.toArray() as Xyz, what: piece.tag };
    if (hit) return { point: hit.point.toArray() as Xyz, what: 'ground' };
    const base = this.stage.rig.meet(px, py, [0, 0, 0], [0, 0, 1]);
    const [l, w] = this.inside;
    const outside = !base || base.x < 0 || base.y < 0 || base.x > l || base.y > w;
    return outside ? null : { point: base.toArray() as Xyz, what: 'base' };
  }

  /** The upright box of a piece as it lies now. */
  boxOf(tag: string): { min: Vector3; max: Vector3 } | null {
    return this.pieces.get(tag)?.box() ?? null;
  }

  private piece(tag: string): PieceObject {
    let piece = this.pieces.get(tag);
    if (!piece) {
      piece = new PieceObject(tag);
      this.pieces.set(tag, piece);
      this.stage.scene.add(piece.group);
      this.fetch(piece, 'far');
    }
    return piece;
  }

  private fetch(piece: PieceObject, level: Level): void {
    if (this.wanted.get(piece.tag) === level) return;
    this.wanted.set(piece.tag, level);
    Promise.all([this.scans.get(piece.tag, level), this.detail(piece.tag)])
      .then(([geometry, detail]) => {
        if (this.pieces.get(piece.tag) !== piece || (piece.level === 'near' && level === 'far')) return;
        piece.dress(geometry, level, detail.centre_of_mass_mm);
        this.stage.changed();
        this.loaded();
      })
      .catch(() => {
        if (piece.level === null) this.failed.add(piece.tag);
        this.loaded(piece.level === null ? piece.tag : undefined);
      });
  }
}

function rayParts(ray: Ray): [Vector3, Vector3] {
  return [ray.origin, ray.direction];
}
