import { describe, expect, it } from 'vitest';
import { commandOf, KEYS } from './keys';

describe('keys', () => {
  const press = (key: string, how: Partial<Record<'shiftKey' | 'ctrlKey' | 'altKey', boolean>> = {}) =>
    commandOf({ key, shiftKey: false, ctrlKey: false, metaKey: false, altKey: false, ...how });
  it('no two commands share a key', () => {
    const strokes = KEYS.map((k) => [k.key, k.shift, k.ctrl, k.alt].join());
    expect(new Set(strokes).size).toBe(strokes.length);
  });
  it('every key in the table gives its own command', () => {
    for (const k of KEYS) {
      expect(press(k.key, { shiftKey: !!k.shift, ctrlKey: !!k.ctrl, altKey: !!k.alt })?.command).toBe(
        k.command,
      );
    }
  });
  it('Shift makes an arrow fine', () =>
    expect(press('ArrowLeft', { shiftKey: true })).toEqual({ command: 'move.left', fine: true }));
  it('Ctrl Z undoes and a bare Z does nothing', () => {
    expect(press('z', { ctrlKey: true })?.command).toBe('undo');
    expect(press('Z', { ctrlKey: true, shiftKey: true })?.command).toBe('redo');
    expect(press('z')).toBeNull();
  });
});
