// What lies under the pointer, by a tree of boxes built when a piece is first pointed at.

import { type BufferGeometry, Matrix4 as M4, type Matrix4, Ray, type Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import type { PieceObject } from './piece';

const trees = new WeakMap<BufferGeometry, MeshBVH>();

export interface Picked {
  tag: string;
  point: Vector3;
  distance: number;
}

export function pick(ray: Ray, pieces: Iterable<PieceObject>): Picked | null {
  let best: Picked | null = null;
  for (const piece of pieces) {
    const mesh = piece.drawn;
    if (!mesh) continue;
    const at = first(ray, mesh.geometry, mesh.matrixWorld);
    if (!at) continue;
    const distance = at.distanceTo(ray.origin);
    if (!best || distance < best.distance) best = { tag: piece.tag, point: at, distance };
  }
  return best;
}

function first(ray: Ray, geometry: BufferGeometry, world: Matrix4): Vector3 | null {
  const back = new M4().copy(world).invert();
  const local = new Ray().copy(ray).applyMatrix4(back);
  const sphere = geometry.boundingSphere;
  if (sphere && !local.intersectsSphere(sphere)) return null;
  const hit = treeOf(geometry).raycastFirst(local);
  return hit ? hit.point.clone().applyMatrix4(world) : null;
}

function treeOf(geometry: BufferGeometry): MeshBVH {
  let tree = trees.get(geometry);
  if (!tree) {
    tree = new MeshBVH(geometry, { indirect: true });
    trees.set(geometry, tree);
  }
  return tree;
}
