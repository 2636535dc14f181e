/** Carries out the commands of the key table. */
import { who } from '$lib/session/session.svelte';
import { printLength } from '$lib/units/print';
import type { Bench } from './bench.svelte';
import type { Eye } from './eye.svelte';
import { halfOf, insideTank, raiseEdit } from './hands/piece.svelte';
import type { Command } from './keys';
import { type Arrow, nudgeOf } from './nudge';
import { movedTo } from './shown';
import { wrapped_deg } from './turns';

export interface Doors {
  settle(): void;
  revision(): void;
  tray(): void;
}

const STEP_MM = 5;
const FINE_MM = 1;
const BURY_MM = 2;
const PAN_PX = 60;

/** True when the command did something here. */
export function act(command: Command, fine: boolean, bench: Bench, eye: Eye, doors: Doors): boolean {
  const [group, word = ''] = command.split('.');
  switch (group) {
    case 'view':
      if (word === 'fit') showWhole(eye);
      else bench.view = word as typeof bench.view;
      return true;
    case 'zoom':
      zoom(eye, word === 'in' ? 1.25 : 0.8);
      return true;
    case 'pan':
      pan(eye, word as Arrow);
      return true;
    case 'tool':
      bench.tool = word as typeof bench.tool;
      return true;
    case 'piece':
    case 'move':
    case 'turn':
    case 'pose':
    case 'tip':
    case 'bury':
    case 'lift':
      return actOnPiece(command, fine, bench, eye);
    default:
      return actOnLayout(command, bench, doors);
  }
}

function actOnLayout(command: Command, bench: Bench, doors: Doors): boolean {
  switch (command) {
    case 'dimensions':
      bench.dimensions = !bench.dimensions;
      return true;
    case 'undo':
    case 'redo':
      if (command === 'undo' ? bench.undoLabel : bench.redoLabel) bench.go(command);
      return true;
    case 'drop':
      if (bench.drawing) bench.drawing = null;
      else if (bench.tipping) bench.tipping = false;
      else if (bench.ruler.length) bench.ruler = [];
      else {
        bench.choose(null);
        bench.chosenPlant = null;
      }
      return true;
    case 'settle':
    case 'revision':
    case 'tray':
      doors[command]();
      return true;
    default:
      return false;
  }
}

function actOnPiece(command: Command, fine: boolean, bench: Bench, eye: Eye): boolean {
  if (command === 'piece.next' || command === 'piece.previous') {
    bench.chooseNext(command === 'piece.next' ? 1 : -1);
    return true;
  }
  if (command === 'piece.remove' && bench.chosenPlant !== null) {
    const plant = bench.composition.plant[bench.chosenPlant];
    if (plant) bench.edit({ do: 'plant-remove', index: bench.chosenPlant, name: plant.name });
    bench.chosenPlant = null;
    return true;
  }
  const piece = bench.piece;
  if (!piece) return false;
  const { tag } = piece;
  const up = (piece.lift_mm ?? 0) - (piece.bury_mm ?? 0);
  switch (command) {
    case 'move.left':
    case 'move.right':
    case 'move.up':
    case 'move.down':
      nudge(command.slice(5) as Arrow, fine, bench, eye);
      return true;
    case 'turn.left':
    case 'turn.right':
    case 'turn.left.fine':
    case 'turn.right.fine':
      turn(bench, (command.includes('left') ? 1 : -1) * (command.endsWith('fine') ? 1 : 5));
      return true;
    case 'pose.next':
    case 'pose.previous':
      nextPose(bench, command === 'pose.next' ? 1 : -1);
      return true;
    case 'bury.deeper':
    case 'bury.shallower':
      raise(bench, up + (command === 'bury.deeper' ? -BURY_MM : BURY_MM));
      return true;
    case 'lift.up':
    case 'lift.down':
      raise(bench, up + (command === 'lift.up' ? STEP_MM : -STEP_MM));
      return true;
    case 'tip.free':
      bench.tipping = !bench.tipping;
      return true;
    case 'piece.release':
      bench.edit({ do: 'release', tag });
      return true;
    case 'piece.remove':
      takeOut(bench, tag);
      return true;
    default:
      return false;
  }
}

/** Takes a piece out; the next one is chosen in its place. */
export function takeOut(bench: Bench, tag: string): void {
  bench.chooseNext(1);
  if (bench.chosen === tag) bench.choose(null);
  bench.edit({ do: 'remove', tag });
  bench.say(`${tag} taken out of the tank`);
}

function nudge(arrow: Arrow, fine: boolean, bench: Bench, eye: Eye): void {
  const piece = bench.piece;
  if (!piece) return;
  const by = nudgeOf(arrow, bench.view, eye.stage?.rig.azimuth_deg ?? 0, fine ? FINE_MM : STEP_MM);
  if ('up_mm' in by) {
    raise(bench, (piece.lift_mm ?? 0) - (piece.bury_mm ?? 0) + by.up_mm);
    return;
  }
  const at = insideTank(
    [piece.at_mm[0] + by.by_mm[0], piece.at_mm[1] + by.by_mm[1]],
    halfOf(bench, piece.tag),
    bench.inside,
  );
  const pose = bench.poseOf(piece.tag);
  if (pose) bench.show(piece.tag, movedTo(pose, piece.at_mm, at));
  bench.edit({ do: 'move', tag: piece.tag, at_mm: at }, true);
  const length = (mm: number) => printLength(mm, who.units);
  bench.say(`${length(at[0])} from the left, ${length(at[1])} from the front`);
}

function turn(bench: Bench, by_deg: number): void {
  const piece = bench.piece;
  if (!piece) return;
  const to = wrapped_deg((piece.turn_deg ?? 0) + by_deg);
  bench.spin(piece.tag, by_deg, to);
  bench.edit({ do: 'turn', tag: piece.tag, turn_deg: to }, true);
  bench.say(`turned ${Math.round(to)}°`);
}

/** Up is lifting, down is burying. */
export function raise(bench: Bench, up_mm: number): void {
  const piece = bench.piece;
  if (!piece) return;
  const was = (piece.lift_mm ?? 0) - (piece.bury_mm ?? 0);
  const pose = bench.poseOf(piece.tag);
  if (pose) bench.show(piece.tag, movedTo(pose, [0, 0], [0, 0], up_mm - was));
  bench.edit(raiseEdit(piece.tag, up_mm, piece.bury_mm ?? 0), true);
  const length = (mm: number) => printLength(mm, who.units);
  bench.say(
    up_mm < 0 ? `buried ${length(-up_mm)}` : up_mm > 0 ? `lifted ${length(up_mm)}` : 'lies as it touches',
  );
}

export function nextPose(bench: Bench, step: 1 | -1): void {
  const piece = bench.piece;
  const placed = bench.placedOf(bench.chosen);
  if (!piece || !placed) return;
  const n = Math.max(1, placed.n_poses);
  const now = piece.pose ?? 0;
  const to = ((now - 1 + step + n) % n) + 1;
  bench.edit({ do: 'pose', tag: piece.tag, pose: to });
  bench.say(`${piece.tag} lies on side ${to} of ${n}`);
}

export function showWhole(eye: Eye): void {
  eye.stage?.rig.fit();
  eye.stage?.ask();
}

export function zoom(eye: Eye, factor: number): void {
  eye.stage?.rig.zoomAt(factor, eye.width / 2, eye.height / 2);
  eye.stage?.ask();
}

function pan(eye: Eye, way: Arrow): void {
  const dx = way === 'left' ? PAN_PX : way === 'right' ? -PAN_PX : 0;
  const dy = way === 'up' ? PAN_PX : way === 'down' ? -PAN_PX : 0;
  eye.stage?.rig.pan(dx, dy);
  eye.stage?.ask();
}
