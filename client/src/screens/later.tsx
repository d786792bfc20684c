/** A screen whose code comes with its first use, so that the first screen does not wait for it. */
import type { ComponentChild, FunctionComponent } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { text } from '../text/shell';

/** Until what `load` gives is there `meanwhile` stands in its place. */
export function later<P extends object>(
  load: () => Promise<FunctionComponent<P>>,
  meanwhile: ComponentChild,
): FunctionComponent<P> {
  let here: FunctionComponent<P> | undefined;
  return function Later(props: P) {
    const [came, setCame] = useState<boolean | undefined>(undefined);
    useEffect(() => {
      if (here) return setCame(true); // it came between this and the first drawing
      load().then(
        (component) => {
          here = component;
          setCame(true);
        },
        () => setCame(false),
      );
    }, []);
    if (came === false) return <p role="alert">{text.noPart}</p>;
    const Here = here;
    return Here ? <Here {...props} /> : meanwhile;
  };
}
