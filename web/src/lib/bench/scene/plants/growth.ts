// What a plant's form is grown from.

export interface Growth {
  height_mm: number;
  spread_mm: number;
  colour: string;
  random: () => number;
  /** How much higher the ground is at an offset than at the root. */
  rise_mm: (dx: number, dy: number) => number;
}
