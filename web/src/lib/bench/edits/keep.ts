// Keeping pieces where they came to rest.

import type { Composition } from '../model';
import { normal } from '../turns';
import { type KeepEdit, tenth } from './kinds';

export function applyKeep(c: Composition, e: KeepEdit): Composition {
  const rest = new Map(e.poses.map((p) => [p.tag, p]));
  const piece = c.piece.map((p) => {
    const at = rest.get(p.tag);
    if (!at) return p;
    const held = { centre_mm: at.pose.centre_mm, quaternion: normal(at.pose.quaternion) };
    return { ...p, at_mm: at.at_mm.map(tenth) as [number, number], held };
  });
  return { ...c, piece };
}

export function keepLabel(e: KeepEdit): string {
  if (e.poses.length === 1) return `Keep ${e.poses[0]?.tag} where it came to rest`;
  return `Keep ${e.poses.length} pieces where they came to rest`;
}
