/** A screen whose code comes with its first use, so that the first screen does not wait for it. */
import type { ComponentChild, FunctionComponent } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { text } from '../text/shell';

/** `load` is asked once; until its answer is there `meanwhile` stands in its place. */
export function later<P extends object>(
  load: () => Promise<FunctionComponent<P>>,
  meanwhile: ComponentChild,
): FunctionComponent<P> {
  let here: FunctionComponent<P> | undefined;
  return function Later(props: P) {
    const [came, setCame] = useState<boolean | undefined>(undefined);
    useEffect(() => {
      if (here) return;
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
