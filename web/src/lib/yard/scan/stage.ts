/** The scan in space: one piece on a sheet of paper, drawn only when something changed. Loaded with three.js when a
 * piece page wants it, not before. Millimetres, z up, the sheet at z = 0. */
import {
  Box3,
  type BufferGeometry,
  Color,
  DirectionalLight,
  HemisphereLight,
  Mesh,
  MeshStandardMaterial,
  PCFShadowMap,
  PerspectiveCamera,
  PlaneGeometry,
  Scene,
  ShadowMaterial,
  SRGBColorSpace,
  Quaternion as Turn,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Quaternion, Vec3 } from '$lib/api/types';
import { aboutZ, after, squareTurn } from './box';

const FIELD_DEG = 24;
const TURN_MS = 450;

export interface Lain {
  /** Box round the piece as it lies, mm. */
  from: Vec3;
  to: Vec3;
  /** Takes the piece's axes into the sheet's. */
  turn: Quaternion;
}

export class ScanStage {
  azimuth = -28;
  elevation = 20;
  zoom = 1;
  lain: Lain = { from: [0, 0, 0], to: [1, 1, 1], turn: [1, 0, 0, 0] };

  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(FIELD_DEG);
  private readonly renderer: WebGLRenderer;
  private readonly mesh: Mesh<BufferGeometry, MeshStandardMaterial>;
  private readonly floor: Mesh;
  private readonly sun = new DirectionalLight(0xfff6ea, 2.2);
  private readonly radius: number;
  private asked = 0;
  private turning: { from: Turn; to: Turn; start: number } | null = null;
  private size = { width: 1, height: 1 };

  constructor(
    canvas: HTMLCanvasElement,
    readonly geometry: BufferGeometry,
    private readonly drawn: () => void,
  ) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.outputColorSpace = SRGBColorSpace;
    this.renderer.shadowMap.enabled = true;
    this.renderer.shadowMap.type = PCFShadowMap;
    this.renderer.shadowMap.autoUpdate = false;
    geometry.computeBoundingSphere();
    this.radius = geometry.boundingSphere?.radius ?? 100;
    const material = new MeshStandardMaterial({ vertexColors: true, roughness: 0.95, metalness: 0 });
    this.mesh = new Mesh(geometry, material);
    this.mesh.castShadow = true;
    this.mesh.receiveShadow = true;
    this.floor = new Mesh(
      new PlaneGeometry(1, 1),
      new ShadowMaterial({ opacity: 0.2, color: new Color(0x23282b) }),
    );
    this.floor.receiveShadow = true;
    this.floor.scale.setScalar(this.radius * 12);
    this.light();
    this.scene.add(this.mesh, this.floor);
  }

  private light(): void {
    const r = this.radius;
    this.sun.position.set(-1.4 * r, -2.2 * r, 3.4 * r);
    this.sun.castShadow = true;
    this.sun.shadow.mapSize.set(1024, 1024);
    this.sun.shadow.bias = -0.0008;
    this.sun.shadow.normalBias = r * 0.008;
    Object.assign(this.sun.shadow.camera, {
      left: -2 * r,
      right: 2 * r,
      top: 2 * r,
      bottom: -2 * r,
      near: r * 0.5,
      far: r * 8,
    });
    const sky = new HemisphereLight(0xffffff, 0xb9b2a2, 1.7);
    sky.position.set(0, 0, 1);
    this.scene.add(sky, this.sun, this.sun.target);
  }

  resize(width: number, height: number): void {
    this.size = { width: Math.max(1, width), height: Math.max(1, height) };
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.renderer.setSize(this.size.width, this.size.height, false);
    this.ask();
  }

  /** How the piece lies in a pose: square in plan, on the sheet, in the middle. */
  layOut(pose: Quaternion): Lain {
    const [w, x, y, z] = pose;
    const q = new Turn(x, y, z, w).normalize();
    const at = this.geometry.getAttribute('position');
    const v = new Vector3();
    const plan: [number, number][] = [];
    const stride = Math.max(1, Math.floor(at.count / 6000));
    for (let i = 0; i < at.count; i += stride) {
      v.fromBufferAttribute(at, i).applyQuaternion(q);
      plan.push([v.x, v.y]);
    }
    const turn = after(aboutZ(squareTurn(plan)), [q.w, q.x, q.y, q.z]);
    const box = this.boxOf(new Turn(turn[1], turn[2], turn[3], turn[0]));
    const half = box.getSize(new Vector3()).multiplyScalar(0.5);
    return { from: [-half.x, -half.y, 0], to: [half.x, half.y, 2 * half.z], turn };
  }

  private boxOf(q: Turn): Box3 {
    const at = this.geometry.getAttribute('position');
    const box = new Box3();
    const v = new Vector3();
    for (let i = 0; i < at.count; i++) box.expandByPoint(v.fromBufferAttribute(at, i).applyQuaternion(q));
    return box;
  }

  /** Turns the piece to lie so; at once when motion isn't wanted. */
  lie(pose: Quaternion, still: boolean): void {
    this.lain = this.layOut(pose);
    const [w, x, y, z] = this.lain.turn;
    const to = new Turn(x, y, z, w);
    this.turning = still ? null : { from: this.mesh.quaternion.clone(), to, start: performance.now() };
    if (still) this.settleAt(to);
    this.ask();
  }

  private settleAt(q: Turn): void {
    this.mesh.quaternion.copy(q);
    const box = this.boxOf(q);
    const middle = box.getCenter(new Vector3());
    this.mesh.position.set(-middle.x, -middle.y, -box.min.z);
    this.renderer.shadowMap.needsUpdate = true;
  }

  orbit(dx_deg: number, dy_deg: number): void {
    this.azimuth -= dx_deg;
    this.elevation = Math.min(89, Math.max(-4, this.elevation + dy_deg));
    this.ask();
  }

  zoomBy(factor: number): void {
    this.zoom = Math.min(6, Math.max(0.5, this.zoom * factor));
    this.ask();
  }

  home(): void {
    [this.azimuth, this.elevation, this.zoom] = [-28, 20, 1];
    this.ask();
  }

  /** A place of the sheet on the screen, px. */
  project(place: Vec3): [number, number] {
    const v = new Vector3(...place).project(this.camera);
    return [((v.x + 1) / 2) * this.size.width, ((1 - v.y) / 2) * this.size.height];
  }

  /** A place of the piece's own frame, on the sheet. */
  onSheet(place: Vec3): Vec3 {
    const v = new Vector3(...place).applyQuaternion(this.mesh.quaternion).add(this.mesh.position);
    return [v.x, v.y, v.z];
  }

  get isTurning(): boolean {
    return this.turning !== null;
  }

  ask(): void {
    if (this.asked === 0) this.asked = requestAnimationFrame((t) => this.frame(t));
  }

  private frame(t: number): void {
    this.asked = 0;
    if (this.turning) {
      const part = Math.min(1, Math.max(0, (t - this.turning.start) / TURN_MS));
      const eased = part * part * (3 - 2 * part);
      this.settleAt(this.turning.from.clone().slerp(this.turning.to, eased));
      if (part >= 1) this.turning = null;
      else this.ask();
    }
    this.look(this.size.width / this.size.height);
    this.renderer.render(this.scene, this.camera);
    this.drawn();
  }

  private look(aspect: number): void {
    const a = (this.azimuth * Math.PI) / 180;
    const e = (this.elevation * Math.PI) / 180;
    const { from, to } = this.lain;
    const around = Math.hypot(to[0] - from[0], to[1] - from[1]) / 2;
    const tall = (to[2] - from[2]) / 2;
    const reach = Math.hypot(around, tall);
    // The upright cylinder round the piece is in sight from every side, so turning never changes the distance.
    const half = Math.tan(((FIELD_DEG / 2) * Math.PI) / 180);
    const wide = (around * 1.22) / (half * aspect);
    const high = (tall * Math.cos(e) + around * Math.abs(Math.sin(e)) * 1.1 + reach * 0.14) / half;
    const away = (Math.max(wide, high) + around * 0.75) / this.zoom;
    const target = new Vector3(0, 0, (to[2] - from[2]) / 2);
    this.camera.up.set(0, 0, 1);
    this.camera.position
      .set(Math.sin(a) * Math.cos(e), -Math.cos(a) * Math.cos(e), Math.sin(e))
      .multiplyScalar(away)
      .add(target);
    this.camera.aspect = aspect;
    this.camera.near = Math.max(1, away - reach * 8);
    this.camera.far = away + reach * 10;
    this.camera.lookAt(target);
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld(true);
    this.floor.visible = this.elevation > 0;
  }

  /** A small picture of the piece in a pose, from the front, onto another canvas. */
  portrait(pose: Quaternion, onto: HTMLCanvasElement): void {
    const kept = {
      q: this.mesh.quaternion.clone(),
      p: this.mesh.position.clone(),
      lain: this.lain,
      size: this.size,
    };
    const view = [this.azimuth, this.elevation, this.zoom] as const;
    this.lain = this.layOut(pose);
    const [w, x, y, z] = this.lain.turn;
    this.settleAt(new Turn(x, y, z, w));
    [this.azimuth, this.elevation, this.zoom] = [0, 12, 1.12];
    const canvas = this.renderer.domElement;
    this.look(canvas.width / canvas.height);
    this.renderer.render(this.scene, this.camera);
    const side = Math.min(canvas.width, (canvas.height * onto.width) / onto.height);
    const tall = (side * onto.height) / onto.width;
    const pen = onto.getContext('2d');
    pen?.clearRect(0, 0, onto.width, onto.height);
    pen?.drawImage(
      canvas,
      (canvas.width - side) / 2,
      (canvas.height - tall) / 2,
      side,
      tall,
      0,
      0,
      onto.width,
      onto.height,
    );
    this.mesh.quaternion.copy(kept.q);
    this.mesh.position.copy(kept.p);
    [this.azimuth, this.elevation, this.zoom] = view;
    this.lain = kept.lain;
    this.renderer.shadowMap.needsUpdate = true;
    this.ask();
  }

  dispose(): void {
    cancelAnimationFrame(this.asked);
    this.geometry.dispose();
    this.mesh.material.dispose();
    this.renderer.dispose();
  }
}
