/** Where the window is: the address as state. Links work as plain `<a href>`; `go` moves by code. */

class Place {
  path = $state(location.pathname);
  query = $state(new URLSearchParams(location.search));
  /** Counts moves, so that a page can tell a return from a reload. */
  moves = $state(0);
}

export const place = new Place();

function read(): void {
  place.path = location.pathname;
  place.query = new URLSearchParams(location.search);
  place.moves += 1;
}

/** Moves to an address of ours; `replace` leaves no step to go back to. */
export function go(href: string, how: { replace?: boolean; keepScroll?: boolean } = {}): void {
  const to = new URL(href, location.href);
  if (to.href === location.href) return;
  if (how.replace) history.replaceState(null, '', to);
  else history.pushState(null, '', to);
  read();
  if (!how.keepScroll) scrollTo(0, 0);
}

/** Writes the query of the current page (filters, search words) without leaving a step per keystroke. */
export function setQuery(values: Record<string, string | number | null | undefined>): void {
  const query = new URLSearchParams(location.search);
  for (const [key, value] of Object.entries(values)) {
    if (value === null || value === undefined || value === '') query.delete(key);
    else query.set(key, String(value));
  }
  const words = query.toString();
  history.replaceState(null, '', words === '' ? location.pathname : `${location.pathname}?${words}`);
  place.query = query;
}

function ours(anchor: HTMLAnchorElement): boolean {
  const to = new URL(anchor.href, location.href);
  if (to.origin !== location.origin || to.pathname.startsWith('/api/')) return false;
  if (anchor.target !== '' && anchor.target !== '_self') return false;
  return !anchor.hasAttribute('download');
}

/** Takes clicks on links within the client; called once. */
export function startRouter(): () => void {
  const click = (event: MouseEvent) => {
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    const anchor = (event.target as Element | null)?.closest?.('a[href]') as HTMLAnchorElement | null;
    if (!anchor || !ours(anchor)) return;
    const to = new URL(anchor.href);
    if (to.hash !== '' && to.pathname === location.pathname) return;
    event.preventDefault();
    go(to.href);
  };
  addEventListener('popstate', read);
  document.addEventListener('click', click);
  return () => {
    removeEventListener('popstate', read);
    document.removeEventListener('click', click);
  };
}
