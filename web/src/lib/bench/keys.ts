// The bench's keys: one table that the handler and the help both read.

export type Command =
  | 'view.front'
  | 'view.side'
  | 'view.plan'
  | 'view.free'
  | 'view.fit'
  | 'zoom.in'
  | 'zoom.out'
  | 'pan.left'
  | 'pan.right'
  | 'pan.up'
  | 'pan.down'
  | 'move.left'
  | 'move.right'
  | 'move.up'
  | 'move.down'
  | 'turn.left'
  | 'turn.right'
  | 'turn.left.fine'
  | 'turn.right.fine'
  | 'pose.next'
  | 'pose.previous'
  | 'tip.free'
  | 'bury.deeper'
  | 'bury.shallower'
  | 'lift.up'
  | 'lift.down'
  | 'piece.next'
  | 'piece.previous'
  | 'piece.remove'
  | 'piece.release'
  | 'tool.compose'
  | 'tool.ground'
  | 'tool.plant'
  | 'tool.ruler'
  | 'dimensions'
  | 'settle'
  | 'undo'
  | 'redo'
  | 'revision'
  | 'drop'
  | 'help'
  | 'tray';

export interface Key {
  command: Command;
  /** `KeyboardEvent.key`, lower case. */
  key: string;
  shift?: boolean;
  ctrl?: boolean;
  alt?: boolean;
  /** Shift makes the step fine instead of being another key. */
  fine?: boolean;
  words: string;
  group: 'View' | 'Selected piece' | 'Tools' | 'Layout';
}

export const KEYS: readonly Key[] = [
  { command: 'view.front', key: '1', words: 'front', group: 'View' },
  { command: 'view.side', key: '2', words: 'side', group: 'View' },
  { command: 'view.plan', key: '3', words: 'plan', group: 'View' },
  { command: 'view.free', key: '4', words: 'free', group: 'View' },
  { command: 'view.fit', key: '0', words: 'whole tank', group: 'View' },
  { command: 'zoom.in', key: '+', words: 'closer', group: 'View' },
  { command: 'zoom.in', key: '=', words: 'closer', group: 'View' },
  { command: 'zoom.out', key: '-', words: 'further away', group: 'View' },
  { command: 'pan.left', key: 'arrowleft', alt: true, words: 'look further left', group: 'View' },
  { command: 'pan.right', key: 'arrowright', alt: true, words: 'look further right', group: 'View' },
  { command: 'pan.up', key: 'arrowup', alt: true, words: 'look higher', group: 'View' },
  { command: 'pan.down', key: 'arrowdown', alt: true, words: 'look lower', group: 'View' },

  { command: 'move.left', key: 'arrowleft', fine: true, words: 'move left 5 mm', group: 'Selected piece' },
  { command: 'move.right', key: 'arrowright', fine: true, words: 'move right 5 mm', group: 'Selected piece' },
  {
    command: 'move.up',
    key: 'arrowup',
    fine: true,
    words: 'move back (in front and side view: lift) 5 mm',
    group: 'Selected piece',
  },
  {
    command: 'move.down',
    key: 'arrowdown',
    fine: true,
    words: 'move forward (in front and side view: lower) 5 mm',
    group: 'Selected piece',
  },
  { command: 'turn.left', key: 'q', words: 'turn left 5°', group: 'Selected piece' },
  { command: 'turn.right', key: 'e', words: 'turn right 5°', group: 'Selected piece' },
  { command: 'turn.left.fine', key: 'q', shift: true, words: 'turn left 1°', group: 'Selected piece' },
  { command: 'turn.right.fine', key: 'e', shift: true, words: 'turn right 1°', group: 'Selected piece' },
  { command: 'pose.next', key: 't', words: 'tip to the next resting pose', group: 'Selected piece' },
  {
    command: 'pose.previous',
    key: 't',
    shift: true,
    words: 'tip to the resting pose before',
    group: 'Selected piece',
  },
  { command: 'tip.free', key: 'r', words: 'turn freely, by a ball', group: 'Selected piece' },
  { command: 'bury.deeper', key: 'b', words: 'bury 2 mm deeper', group: 'Selected piece' },
  { command: 'bury.shallower', key: 'b', shift: true, words: 'bury 2 mm less', group: 'Selected piece' },
  { command: 'lift.up', key: 'l', words: 'lift 5 mm', group: 'Selected piece' },
  { command: 'lift.down', key: 'l', shift: true, words: 'lower 5 mm', group: 'Selected piece' },
  { command: 'piece.release', key: 'j', words: 'let down where it is', group: 'Selected piece' },
  { command: 'piece.next', key: 'n', words: 'next piece', group: 'Selected piece' },
  { command: 'piece.previous', key: 'n', shift: true, words: 'piece before', group: 'Selected piece' },
  { command: 'piece.remove', key: 'delete', words: 'take out of the tank', group: 'Selected piece' },
  { command: 'piece.remove', key: 'backspace', words: 'take out of the tank', group: 'Selected piece' },
  { command: 'drop', key: 'escape', words: 'put down, select nothing', group: 'Selected piece' },

  { command: 'tool.compose', key: 'v', words: 'pieces', group: 'Tools' },
  { command: 'tool.ground', key: 'o', words: 'ground', group: 'Tools' },
  { command: 'tool.plant', key: 'p', words: 'plants', group: 'Tools' },
  { command: 'tool.ruler', key: 'm', words: 'ruler', group: 'Tools' },
  { command: 'dimensions', key: 'd', words: 'dimension lines', group: 'Tools' },
  { command: 'tray', key: '/', words: 'search the tray', group: 'Tools' },

  { command: 'settle', key: 's', words: 'settle', group: 'Layout' },
  { command: 'undo', key: 'z', ctrl: true, words: 'undo', group: 'Layout' },
  { command: 'redo', key: 'z', ctrl: true, shift: true, words: 'redo', group: 'Layout' },
  { command: 'redo', key: 'y', ctrl: true, words: 'redo', group: 'Layout' },
  { command: 'revision', key: 'k', words: 'keep a revision', group: 'Layout' },
];

export interface Pressed {
  key: string;
  shiftKey: boolean;
  ctrlKey: boolean;
  metaKey: boolean;
  altKey: boolean;
}

/** The command of a pressed key, or null. `fine` when Shift asks for the small step. */
export function commandOf(e: Pressed): { command: Command; fine: boolean } | null {
  const key = e.key.toLowerCase();
  const ctrl = e.ctrlKey || e.metaKey;
  for (const k of KEYS) {
    if (k.key !== key || !!k.ctrl !== ctrl || !!k.alt !== e.altKey) continue;
    if (k.fine || isSign(k.key)) return { command: k.command, fine: e.shiftKey };
    if (!!k.shift === e.shiftKey) return { command: k.command, fine: false };
  }
  return null;
}

/** A sign may need Shift on one keyboard and not on another. */
function isSign(key: string): boolean {
  return ['+', '=', '-', '?', '/'].includes(key);
}

const SHOWN: Record<string, string> = {
  arrowleft: '←',
  arrowright: '→',
  arrowup: '↑',
  arrowdown: '↓',
  delete: 'Del',
  backspace: '⌫',
  escape: 'Esc',
};

export function shown(k: Key): string {
  const name = SHOWN[k.key] ?? (k.key.length === 1 ? k.key.toUpperCase() : k.key);
  return [k.ctrl ? 'Ctrl' : '', k.alt ? 'Alt' : '', k.shift ? 'Shift' : '', name].filter(Boolean).join(' ');
}

/** The table by groups, as the sheet of keys shows it; further keys of one command stand on its line. */
export function keyGroups(): { title: string; lines: { keys: string; words: string }[] }[] {
  const titles = [...new Set(KEYS.map((k) => k.group))];
  return titles.map((title) => ({
    title: `Bench: ${title.toLowerCase()}`,
    lines: [
      ...KEYS.filter((k) => k.group === title && k.key !== '=').map((k) => ({
        keys: shown(k),
        words: k.words,
      })),
      ...(title === 'Selected piece'
        ? [
            { keys: 'Shift ←', words: 'arrows with Shift: 1 mm' },
            { keys: HOLD_OFF, words: 'held while dragging: no snapping' },
          ]
        : []),
    ],
  }));
}

/** The first key of a command as it is written on a button. */
export function keyOf(command: Command): string {
  const k = KEYS.find((x) => x.command === command);
  return k ? shown(k) : '';
}

/** What Alt does while something is dragged. */
export const HOLD_OFF = 'Alt';
