import { useEffect, useState } from 'preact/hooks';

/** From where two columns stand side by side; the style sheets say the same width. */
const wide = '(min-width: 60rem)';

/** Whether there is room for a second column, which is not drawn where there is none. */
export function useWide(): boolean {
  const [is, set] = useState(() => matchMedia(wide).matches);
  useEffect(() => {
    const query = matchMedia(wide);
    const look = () => set(query.matches);
    query.addEventListener('change', look);
    return () => query.removeEventListener('change', look);
  }, []);
  return is;
}
