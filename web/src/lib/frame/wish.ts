/** How a page sits in the frame; a page says so with `export const frame` in its module script. */
export interface FrameWish {
  theme?: 'light' | 'dark';
  /** The page fills the window beside the rail and scrolls within itself. */
  fill?: boolean;
  /** No rail, as for signing in. */
  alone?: boolean;
}
