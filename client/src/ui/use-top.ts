/** Where the page stands after a change: a new screen or step begins at its top; the system's Back finds the screen as it was left. */
import { useLayoutEffect, useRef } from 'preact/hooks';

const left = new Map<string, number>(); // how far down each screen of this visit was scrolled, by its name
let now: string | undefined;
let back = false;

export function watchScroll(page: Window): void {
  page.addEventListener('scroll', () => now !== undefined && left.set(now, page.scrollY), { passive: true });
  page.addEventListener('popstate', () => {
    back = true;
  });
}

/** `name` is what is on screen: when it changes, the page is at the top of it. With `kept`, Back finds its place again. */
export function useTop(name: string, kept = false): void {
  const before = useRef(name);
  useLayoutEffect(() => {
    if (kept) now = name;
    if (before.current === name) return;
    before.current = name;
    scrollTo(0, kept && back ? (left.get(name) ?? 0) : 0);
    back = false;
  }, [name]);
}
