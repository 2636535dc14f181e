// The tank's panes at their true thickness: base, front and back over the base's full length, sides between.

import {
  BoxGeometry,
  BufferGeometry,
  EdgesGeometry,
  Float32BufferAttribute,
  Group,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
} from 'three';
import { baseMm, type Tank, type Xyz } from '../model';
import type { Tones } from './tones';

export interface Pane {
  name: 'base' | 'front' | 'back' | 'left' | 'right';
  from_mm: Xyz;
  to_mm: Xyz;
}

/** The five panes in the tank frame, whose origin is the inside left-front-bottom corner. */
export function panesOf(tank: Tank): Pane[] {
  const [l, w, h] = tank.outside_mm;
  const t = tank.glass_mm;
  const b = baseMm(tank);
  const top = h - b;
  return [
    { name: 'base', from_mm: [-t, -t, -b], to_mm: [l - t, w - t, 0] },
    { name: 'front', from_mm: [-t, -t, 0], to_mm: [l - t, 0, top] },
    { name: 'back', from_mm: [-t, w - 2 * t, 0], to_mm: [l - t, w - t, top] },
    { name: 'left', from_mm: [-t, 0, 0], to_mm: [0, w - 2 * t, top] },
    { name: 'right', from_mm: [l - 2 * t, 0, 0], to_mm: [l - t, w - 2 * t, top] },
  ];
}

export function glass(tank: Tank, tones: Tones): Group {
  const group = new Group();
  group.name = 'glass';
  const clear = { transparent: true, depthWrite: false, toneMapped: false } as const;
  const face = new MeshBasicMaterial({ color: tones.glass, opacity: tones.dark ? 0.05 : 0.06, ...clear });
  const edge = new MeshBasicMaterial({ color: tones.glassEdge, opacity: tones.dark ? 0.3 : 0.26, ...clear });
  const line = new LineBasicMaterial({
    color: tones.glassEdge,
    transparent: true,
    opacity: tones.dark ? 0.55 : 0.6,
    toneMapped: false,
  });
  for (const pane of panesOf(tank)) {
    const size = pane.to_mm.map((v, i) => v - (pane.from_mm[i] ?? 0)) as Xyz;
    const box = new BoxGeometry(...size);
    const thin = size.indexOf(Math.min(...size));
    // Faces of a box come in pairs along x, y, z: the pair across the thickness is what one looks through.
    const mesh = new Mesh(
      box,
      [0, 0, 1, 1, 2, 2].map((axis) => (axis === thin ? face : edge)),
    );
    mesh.position.set(...(pane.from_mm.map((v, i) => v + (size[i] ?? 0) / 2) as Xyz));
    mesh.renderOrder = 10;
    const outline = new LineSegments(new EdgesGeometry(box), line);
    outline.position.copy(mesh.position);
    outline.renderOrder = 11;
    group.add(mesh, outline);
  }
  return group;
}

/** The water: its surface, its quiet body, and the line that it draws on the glass. */
export function water(tank: Tank, tones: Tones): Group {
  const group = new Group();
  group.name = 'water';
  const [l, w] = tank.outside_mm;
  const inside: Xyz = [l - 2 * tank.glass_mm, w - 2 * tank.glass_mm, tank.water_line_mm];
  const tint = (opacity: number) =>
    new MeshBasicMaterial({
      color: tones.water,
      transparent: true,
      opacity,
      depthWrite: false,
      toneMapped: false,
    });
  const body = new Mesh(
    new BoxGeometry(inside[0] - 0.4, inside[1] - 0.4, inside[2]),
    tint(tones.dark ? 0.07 : 0.055),
  );
  body.position.set(inside[0] / 2, inside[1] / 2, inside[2] / 2);
  body.renderOrder = 8;
  const surface = new Mesh(new BoxGeometry(inside[0], inside[1], 0.2), tint(tones.dark ? 0.14 : 0.12));
  surface.position.set(inside[0] / 2, inside[1] / 2, inside[2]);
  surface.renderOrder = 9;
  const z = inside[2];
  const round = new BufferGeometry();
  round.setAttribute(
    'position',
    new Float32BufferAttribute(
      [
        0,
        0,
        z,
        inside[0],
        0,
        z,
        inside[0],
        0,
        z,
        inside[0],
        inside[1],
        z,
        inside[0],
        inside[1],
        z,
        0,
        inside[1],
        z,
        0,
        inside[1],
        z,
        0,
        0,
        z,
      ],
      3,
    ),
  );
  const line = new LineSegments(
    round,
    new LineBasicMaterial({ color: tones.active, transparent: true, opacity: 0.75, toneMapped: false }),
  );
  line.renderOrder = 12;
  group.add(body, surface, line);
  return group;
}
