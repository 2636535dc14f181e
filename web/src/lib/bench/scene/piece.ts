// One piece in the tank: its scan at its pose, a dashed box until the scan is there, a line round it when chosen.

import {
  Box3,
  BoxGeometry,
  type BufferGeometry,
  Color,
  DoubleSide,
  EdgesGeometry,
  Group,
  LineDashedMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  NotEqualStencilFunc,
  Quaternion,
  ReplaceStencilOp,
  ShaderMaterial,
  Vector2,
  Vector3,
} from 'three';
import type { Pose, Xy, Xyz } from '../model';
import type { Level } from './scans';
import type { Tones } from './tones';

const stone = new MeshLambertMaterial({ vertexColors: true });
const dim = new MeshLambertMaterial({
  vertexColors: true,
  transparent: true,
  opacity: 0.28,
  depthWrite: false,
});

/** Marks where the piece is, so that the line is drawn outside it only. */
function silhouette(ref: number): MeshBasicMaterial {
  return new MeshBasicMaterial({
    colorWrite: false,
    depthWrite: false,
    depthTest: false,
    transparent: true,
    side: DoubleSide,
    stencilWrite: true,
    stencilRef: ref,
    stencilZPass: ReplaceStencilOp,
  });
}

/** A line of constant width on the screen, seen through what lies in front: faces pushed out along the normals. */
function rim(ref: number): ShaderMaterial {
  return new ShaderMaterial({
    side: DoubleSide,
    transparent: true,
    depthTest: false,
    depthWrite: false,
    stencilWrite: true,
    stencilRef: ref,
    stencilFunc: NotEqualStencilFunc,
    uniforms: { tone: { value: new Color() }, width: { value: 2.2 }, size: { value: new Vector2(1, 1) } },
    vertexShader: `uniform float width; uniform vec2 size;
      void main() {
        vec4 p = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
        vec3 n = normalize(normalMatrix * normal);
        p.xy += normalize(n.xy + 1e-6) * width * 2.0 * p.w / size;
        gl_Position = p;
      }`,
    fragmentShader: `uniform vec3 tone;
      void main() {
        gl_FragColor = vec4(tone, 1.0);
        #include <colorspace_fragment>
      }`,
  });
}
const chosenRim = rim(1);
const overRim = rim(2);
const chosenShape = silhouette(1);
const overShape = silhouette(2);

/** Widths are in pixels, so the rims must know the canvas. */
export function tuneRims(tones: Tones, width_px: number, height_px: number): void {
  Object.assign(chosenRim.uniforms, { tone: { value: tones.active } });
  Object.assign(overRim.uniforms, { tone: { value: tones.line }, width: { value: 1.1 } });
  for (const m of [chosenRim, overRim])
    Object.assign(m.uniforms, { size: { value: new Vector2(width_px, height_px) } });
}

export type Mark = 'none' | 'over' | 'chosen';

export class PieceObject {
  readonly group = new Group();
  level: Level | null = null;
  private mesh: Mesh | null = null;
  private lines: Mesh[] = [];
  private stand: LineSegments | null = null;
  private centre: Vector3 | null = null;
  private pose: Pose | null = null;
  private extent: Box3 | null = null;

  constructor(readonly tag: string) {
    this.group.name = tag;
  }

  get geometry(): BufferGeometry | null {
    return this.mesh?.geometry ?? null;
  }

  get drawn(): Mesh | null {
    return this.mesh;
  }

  /** The scan, with the centre of mass in the piece frame about which poses turn. */
  dress(geometry: BufferGeometry, level: Level, centre_mm: Xyz): void {
    this.centre = new Vector3(...centre_mm);
    this.level = level;
    if (this.mesh) this.mesh.geometry = geometry;
    else {
      this.mesh = new Mesh(geometry, stone);
      this.mesh.castShadow = true;
      this.mesh.receiveShadow = true;
      this.mesh.matrixAutoUpdate = false;
      this.mesh.userData.tag = this.tag;
      this.group.add(this.mesh);
    }
    for (const m of this.lines) m.geometry = geometry;
    this.dropStand();
    if (this.pose) this.put(this.pose);
  }

  /** T(centre) · R(q) · T(−centre of mass). */
  put(pose: Pose): void {
    this.pose = pose;
    if (!this.mesh || !this.centre) return;
    const [w, x, y, z] = pose.quaternion;
    const turn = new Matrix4().makeRotationFromQuaternion(new Quaternion(x, y, z, w));
    const back = new Matrix4().makeTranslation(-this.centre.x, -this.centre.y, -this.centre.z);
    this.mesh.matrix
      .makeTranslation(...pose.centre_mm)
      .multiply(turn)
      .multiply(back);
    this.mesh.updateMatrixWorld(true);
    this.extent = null;
    for (const m of this.lines) {
      m.matrix.copy(this.mesh.matrix);
      m.updateMatrixWorld(true);
    }
  }

  /** The box it will fill, until its scan has come. */
  outline(at_mm: Xy, width: number, depth: number, low: number, high: number, tones: Tones): void {
    if (this.mesh) return;
    this.dropStand();
    const box = new BoxGeometry(width, depth, Math.max(1, high - low));
    this.stand = new LineSegments(
      new EdgesGeometry(box),
      new LineDashedMaterial({ color: tones.line, dashSize: 6, gapSize: 4, transparent: true, opacity: 0.6 }),
    );
    this.stand.computeLineDistances();
    this.stand.position.set(at_mm[0], at_mm[1], (low + high) / 2);
    this.group.add(this.stand);
  }

  mark(mark: Mark): void {
    if (mark === 'none' || !this.mesh) {
      for (const m of this.lines) this.group.remove(m);
      this.lines = [];
      return;
    }
    if (this.lines.length === 0) {
      this.lines = [0, 1].map((order) => {
        const m = new Mesh(this.mesh?.geometry);
        m.matrixAutoUpdate = false;
        m.renderOrder = 20 + order;
        return m;
      });
      this.group.add(...this.lines);
    }
    const materials = mark === 'chosen' ? [chosenShape, chosenRim] : [overShape, overRim];
    for (const [i, m] of this.lines.entries()) {
      m.material = materials[i] ?? chosenRim;
      m.matrix.copy(this.mesh.matrix);
      m.updateMatrixWorld(true);
    }
  }

  /** Faded while the ground is being shaped, so that it doesn't hide the handles. */
  fade(on: boolean): void {
    if (this.mesh) this.mesh.material = on ? dim : stone;
  }

  /** The upright box of the piece as it lies, from its mesh; asked for every frame, reckoned once a pose. */
  box(): Box3 | null {
    if (!this.mesh) return null;
    this.extent ??= new Box3().setFromObject(this.mesh, true);
    return this.extent;
  }

  private dropStand(): void {
    if (!this.stand) return;
    this.group.remove(this.stand);
    this.stand.geometry.dispose();
    this.stand = null;
  }
}
