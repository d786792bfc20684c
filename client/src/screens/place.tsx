/** A place with its tabs and its strip. */
import type { ComponentChildren } from 'preact';
import type { State } from '../state';
import { stripParts, text } from '../text/shell';
import { Place, StatusStrip, TabBar } from '../ui/tab-bar';

const hrefs = { frame: '/', changes: '/changes', book: '/book', people: '/people' } as const;
export type PlaceId = keyof typeof hrefs;

export function AtPlace({ state, place, children }: { state: State; place: PlaceId; children: ComponentChildren }) {
  const needs = state.needs.length;
  const tabs = (Object.keys(hrefs) as PlaceId[]).map((id) => ({
    id,
    label: text.tabs[id],
    href: hrefs[id],
    needs: id === 'people' && needs > 0 ? text.needs(needs) : undefined,
  }));
  return (
    <Place
      bar={<TabBar label={text.tabsLabel} tabs={tabs} current={place} />}
      strip={place === 'changes' ? undefined : <StatusStrip parts={stripParts(state, Date.now())} href="/people" />}
    >
      {children}
    </Place>
  );
}
