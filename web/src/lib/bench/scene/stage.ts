// The canvas: draws when something has changed, and only then.

import {
  AmbientLight,
  DirectionalLight,
  HemisphereLight,
  Mesh,
  PCFShadowMap,
  PlaneGeometry,
  Scene,
  ShadowMaterial,
  SRGBColorSpace,
  WebGLRenderer,
} from 'three';
import { Rig } from './rig';

export class Stage {
  readonly scene = new Scene();
  readonly rig = new Rig();
  readonly renderer: WebGLRenderer;
  /** Milliseconds that the last frame's work took on this side of the graphics chip. */
  lastFrame_ms = 0;
  n_frames = 0;
  still = false;
  private asked = 0;
  private before = 0;
  private readonly sun = new DirectionalLight(0xfff4e6, 2.3);
  private readonly floor: Mesh;
  private readonly after = new Set<() => void>();

  constructor(canvas: HTMLCanvasElement, antialias: boolean) {
    this.renderer = new WebGLRenderer({
      canvas,
      antialias,
      alpha: true,
      stencil: true,
      powerPreference: 'high-performance',
    });
    this.renderer.outputColorSpace = SRGBColorSpace;
    this.renderer.shadowMap.enabled = antialias;
    this.renderer.shadowMap.type = PCFShadowMap;
    this.renderer.shadowMap.autoUpdate = false;
    this.scene.add(
      new HemisphereLight(0xf4f8fa, 0x8d8878, 1.7),
      new AmbientLight(0xffffff, 0.25),
      this.sun,
      this.sun.target,
    );
    this.sun.castShadow = true;
    this.sun.shadow.mapSize.set(2048, 2048);
    this.sun.shadow.radius = 3;
    this.floor = new Mesh(new PlaneGeometry(1, 1), new ShadowMaterial({ opacity: 0.16 }));
    this.floor.receiveShadow = true;
    this.scene.add(this.floor);
  }

  /** Light and floor for a tank of this size, mm. */
  furnish(inside: readonly number[], base_mm: number): void {
    const [l = 1, w = 1, h = 1] = inside;
    const reach = Math.hypot(l, w, h);
    this.sun.target.position.set(l / 2, w / 2, 0);
    this.sun.position.set(l / 2 - reach * 0.45, w / 2 - reach * 0.55, h + reach);
    const camera = this.sun.shadow.camera;
    const half = reach * 0.75;
    Object.assign(camera, { left: -half, right: half, top: half, bottom: -half, near: 10, far: reach * 4 });
    camera.updateProjectionMatrix();
    this.sun.shadow.bias = -0.0006;
    this.sun.shadow.normalBias = 1.5;
    this.floor.position.set(l / 2, w / 2, -base_mm - 1);
    this.floor.scale.set(reach * 4, reach * 4, 1);
    this.changed();
  }

  resize(width: number, height: number, ratio: number): void {
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(width, height, false);
    this.rig.resize(width, height);
    this.ask();
  }

  /** Something in the tank has moved: shadows too. */
  changed(): void {
    this.renderer.shadowMap.needsUpdate = true;
    this.ask();
  }

  /** A frame, please; many askings before it are one. */
  ask(): void {
    if (this.asked) return;
    this.asked = requestAnimationFrame((t) => this.frame(t));
  }

  onFrame(call: () => void): () => void {
    this.after.add(call);
    return () => this.after.delete(call);
  }

  dispose(): void {
    cancelAnimationFrame(this.asked);
    this.renderer.dispose();
  }

  private frame(t: number): void {
    this.asked = 0;
    const dt = Math.min(0.2, this.before ? (t - this.before) / 1000 : 0.016);
    const goesOn = this.rig.advance(dt, this.still);
    this.before = goesOn ? t : 0;
    const start = performance.now();
    this.floor.visible = this.rig.view === 'free';
    this.renderer.render(this.scene, this.rig.camera);
    this.lastFrame_ms = performance.now() - start;
    this.n_frames += 1;
    for (const call of this.after) call();
    if (goesOn) this.ask();
  }
}
