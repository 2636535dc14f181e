// A plant as a simple thing that can be believed: not a species, a form of a height and a spread.

import { DoubleSide, Group, Mesh, MeshLambertMaterial } from 'three';
import type { Ground, Plant } from '../../model';
import { seeded, seedOf } from '../grain';
import { heightAt } from '../ground';
import { carpet } from './carpet';
import { fern } from './fern';
import type { Growth } from './growth';
import { moss } from './moss';
import { rosette } from './rosette';
import { stem } from './stem';

const FORMS = { rosette, stem, carpet, fern, moss };
const leaf = new MeshLambertMaterial({ vertexColors: true, side: DoubleSide });

export function plant(p: Plant, index: number, ground: Ground | null): Group {
  const group = new Group();
  const root = heightAt(ground, p.at_mm[0], p.at_mm[1]);
  const growth: Growth = {
    height_mm: p.height_mm,
    spread_mm: p.spread_mm,
    colour: p.colour,
    random: seeded(seedOf(`${p.name} ${index}`)),
    rise_mm: (dx, dy) => heightAt(ground, p.at_mm[0] + dx, p.at_mm[1] + dy) - root,
  };
  const mesh = new Mesh((FORMS[p.form] ?? rosette)(growth), leaf);
  mesh.castShadow = true;
  group.add(mesh);
  group.position.set(p.at_mm[0], p.at_mm[1], root);
  group.userData.plant = index;
  return group;
}
