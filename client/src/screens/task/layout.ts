/** Sorts what a step offers into the places of the screen. It adds nothing and leaves nothing out. Pure. */
import type { Offer } from '../../domain/task';

/** Offers that belong together: `of` is the engine's own word for the row, '' for what stands by itself. */
export type OfferRow = {
  readonly of: string;
  readonly tiles: readonly Offer[];
  readonly adjust: readonly Offer[];
  readonly small: readonly Offer[];
};

export type Layout = {
  readonly main?: Offer;
  readonly stop?: Offer; // while sound paces
  readonly leave?: Offer;
  readonly back?: Offer;
  readonly takeBack: readonly Offer[]; // about what was just written
  readonly writes: readonly Offer[];
  readonly rows: readonly OfferRow[]; // in the order they are offered
};

const ofWhat = ({ action }: Offer): string => ('of' in action && action.of !== undefined ? action.of : '');
const own = new Set<string>(['stop', 'leave', 'back', 'turned-back', 'wrote-wrong']);

export function arrange(offers: readonly Offer[]): Layout {
  const of = (kind: Offer['action']['do']) => offers.find((o) => o.action.do === kind);
  const rest = offers.filter((o) => !own.has(o.action.do) && o.as !== 'main' && o.as !== 'write');
  const names = [...new Set(rest.map(ofWhat))];
  return {
    main: offers.find((o) => o.as === 'main'),
    stop: of('stop'),
    leave: of('leave'),
    back: of('back'),
    takeBack: offers.filter((o) => o.action.do === 'turned-back' || o.action.do === 'wrote-wrong'),
    writes: offers.filter((o) => o.as === 'write'),
    rows: names.map((name) => {
      const inRow = rest.filter((o) => ofWhat(o) === name);
      const as = (kind: Offer['as']) => inRow.filter((o) => o.as === kind);
      return { of: name, tiles: as('tile'), adjust: as('adjust'), small: as('small') };
    }),
  };
}

const empty: OfferRow = { of: '', tiles: [], adjust: [], small: [] };
export const rowOf = (layout: Layout, of = ''): OfferRow => layout.rows.find((r) => r.of === of) ?? { ...empty, of };

/** What a pick stands for; '' for anything else. */
export const pickOf = ({ action }: Offer): string => (action.do === 'pick' ? action.value : '');

/** The values whose tiles are chosen. */
export const chosenIn = (row: OfferRow): readonly string[] => row.tiles.filter((o) => o.on).map(pickOf);

export type StepPair = { readonly less: Offer; readonly more: Offer; readonly by: number };

/** Plus and minus buttons by how far they go: for each step one pair, in the order offered. */
export function pairs(adjust: readonly Offer[]): readonly StepPair[] {
  const by = ({ action }: Offer) => (action.do === 'add' ? action.by : 0);
  const sizes = [...new Set(adjust.map((o) => Math.abs(by(o))))];
  return sizes.flatMap((size) => {
    const less = adjust.find((o) => by(o) === -size);
    const more = adjust.find((o) => by(o) === size);
    return less && more ? [{ less, more, by: size }] : [];
  });
}
