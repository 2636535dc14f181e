import { describe, expect, it } from 'vitest';
import { bodyOf, likelyUp, missing, settingsFor, startingSettings } from './settings';

const common = { ...startingSettings(), material: ' Tarnholt clint ', place: 'shelf A' };

describe('settings', () => {
  it('of one file win over the common ones', () =>
    expect(settingsFor(common, { unit: 'cm', place: undefined })).toMatchObject({
      unit: 'cm',
      place: 'shelf A',
    }));
  it('say what is missing', () =>
    expect(Object.keys(missing(startingSettings()))).toEqual(['material', 'place']));
  it('are enough with material and place', () => expect(missing(common)).toEqual({}));
  it('guess the upright of an OBJ', () => expect(likelyUp('a.OBJ')).toBe('y'));
});

describe('what is sent', () => {
  it('names no unit for glTF, which has its own', () =>
    expect(bodyOf('a.glb', common, 7, [])).toMatchObject({ unit: null, up: 'y', scan: 7 }));
  it('leaves out what nobody said', () => {
    const body = bodyOf('a.ply', common, 7, [8]);
    expect(body).not.toHaveProperty('mass_kg');
    expect(body).not.toHaveProperty('price');
    expect(body.material).toBe('Tarnholt clint');
    expect(body.density_kg_m3).toBe(2600);
  });
});
