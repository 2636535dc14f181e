import { describe, expect, it } from 'vitest';
import { fileKind, fileTrouble, pairPhotographs, printBytes } from './pairing';

describe('fileKind', () => {
  it.each([
    ['a.PLY', 'scan'],
    ['b.glb', 'scan'],
    ['c.jpeg', 'photograph'],
    ['d.txt', 'unknown'],
    ['ply', 'unknown'],
  ])('%s is a %s', (name, kind) => expect(fileKind(name)).toBe(kind));
  it('takes a camera’s nameless picture by its type', () =>
    expect(fileKind('image', 'image/jpeg')).toBe('photograph'));
});

describe('fileTrouble', () => {
  it('lets a scan pass', () => expect(fileTrouble({ name: 'a.ply', size: 5 })).toBeNull());
  it('says when a file is empty', () => expect(fileTrouble({ name: 'a.ply', size: 0 })).toContain('empty'));
  it('says when a photograph is too large', () =>
    expect(fileTrouble({ name: 'a.jpg', size: 41 * 1024 * 1024 })).toBe('larger than 40 MB'));
  it('explains HEIC', () => expect(fileTrouble({ name: 'IMG.HEIC', size: 5 })).toContain('JPEG'));
});

describe('pairPhotographs', () => {
  it('goes by the beginning of the name', () =>
    expect(
      pairPhotographs(['rock 1.ply', 'rock 10.ply'], ['rock_10-a.jpg', 'rock-1.jpg', 'other.jpg']),
    ).toEqual([1, 0, null]));
  it('gives all to the only scan', () => expect(pairPhotographs(['x.ply'], ['y.jpg'])).toEqual([0]));
  it('doesn’t take rock 1 for rock 12', () =>
    expect(pairPhotographs(['rock1.ply', 'b.ply'], ['rock12.jpg'])).toEqual([null]));
});

describe('printBytes', () => {
  it('writes megabytes', () => expect(printBytes(4.5 * 1024 * 1024)).toBe('4.5 MB'));
  it('never says nothing', () => expect(printBytes(1)).toBe('1 kB'));
});
