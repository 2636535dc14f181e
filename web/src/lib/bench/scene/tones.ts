// Colours of things in the tank. The screen's own colours come from the tokens; these are of glass, water and leaf.

import { Color } from 'three';

export interface Tones {
  dark: boolean;
  glass: Color;
  glassEdge: Color;
  line: Color;
  water: Color;
  active: Color;
  warm: Color;
}

/** Reads the tokens that the theme sets on an element, so that canvas and page never part. */
export function tonesOf(element: HTMLElement, names: { ink: string; water: string; warm: string }): Tones {
  const style = getComputedStyle(element);
  const read = (name: string, other: string): Color => {
    const v = style.getPropertyValue(name).trim();
    return asColour(v) ?? new Color(other);
  };
  const ink = read(names.ink, '#2b2f31');
  const active = read(names.water, '#0e5a6b');
  const dark = luminance(ink) > 0.35;
  return {
    dark,
    glass: new Color(dark ? '#9fd0c6' : '#8fc4b6'),
    glassEdge: new Color(dark ? '#8fd6c4' : '#3f9684'),
    line: ink,
    water: new Color(dark ? '#5fb3c4' : '#4a9cae'),
    active,
    warm: read(names.warm, '#b4541a'),
  };
}

function luminance(c: Color): number {
  return 0.2126 * c.r + 0.7152 * c.g + 0.0722 * c.b;
}

/** Any CSS colour, also those that three.js doesn't parse (oklch, color-mix), by letting the browser paint it. */
function asColour(css: string): Color | null {
  if (!css) return null;
  const canvas = document.createElement('canvas');
  canvas.width = 1;
  canvas.height = 1;
  const g = canvas.getContext('2d', { willReadFrequently: true });
  if (!g) return null;
  g.fillStyle = '#000000';
  g.fillStyle = css;
  g.fillRect(0, 0, 1, 1);
  const [r = 0, gr = 0, b = 0] = g.getImageData(0, 0, 1, 1).data;
  return new Color(`rgb(${r}, ${gr}, ${b})`);
}
