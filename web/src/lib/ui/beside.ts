/** Puts a floating sheet under (or over) its anchor, inside the window. */
export function placeBeside(sheet: HTMLElement, anchor: Element, gap = 6): void {
  const at = anchor.getBoundingClientRect();
  const size = sheet.getBoundingClientRect();
  const edge = 8;
  const below = at.bottom + gap;
  const above = at.top - gap - size.height;
  const fitsBelow = below + size.height <= innerHeight - edge;
  const top = fitsBelow || above < edge ? Math.min(below, innerHeight - edge - size.height) : above;
  const left = Math.min(at.left, innerWidth - edge - size.width);
  sheet.style.top = `${Math.max(edge, top)}px`;
  sheet.style.left = `${Math.max(edge, left)}px`;
}
