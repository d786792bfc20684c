/**
 * Exact inference in a network of yes/no variables, by summing out variable after variable in the order given. General and
 * plain: the published networks and the diagnosis are held against it in tests; the program does not use it.
 */

/** Parents come before their children in `order`; `yes` is the chance of "yes" by the parents' states, as letters y and n. */
export type Network = {
  readonly order: readonly string[];
  readonly parents: { readonly [variable: string]: readonly string[] };
  readonly yes: { readonly [variable: string]: { readonly [states: string]: number } };
};
export type States = { readonly [variable: string]: 'yes' | 'no' };

/** A table over some variables: the key holds their states as letters, in order. */
type Factor = { readonly over: readonly string[]; readonly table: ReadonlyMap<string, number> };

const letters = (n: number): readonly string[] => (n === 0 ? [''] : letters(n - 1).flatMap((k) => [`${k}y`, `${k}n`]));

function factorOf(net: Network, variable: string): Factor {
  const parents = net.parents[variable] ?? [];
  const table = new Map(
    letters(parents.length).flatMap((key) => {
      const yes = net.yes[variable]?.[key];
      if (yes === undefined) throw new RangeError(`network: ${variable} has no chance for "${key}"`);
      return [
        [`${key}y`, yes],
        [`${key}n`, 1 - yes],
      ] as const;
    }),
  );
  return { over: [...parents, variable], table };
}

function product(a: Factor, b: Factor): Factor {
  const over = [...new Set([...a.over, ...b.over])];
  const at = (f: Factor, key: string) => f.table.get(f.over.map((v) => key[over.indexOf(v)]).join('')) ?? 0;
  return { over, table: new Map(letters(over.length).map((key) => [key, at(a, key) * at(b, key)])) };
}

/** Only the lines that fit what is known. */
function seen(f: Factor, known: States): Factor {
  const fits = (key: string) =>
    f.over.every((v, i) => known[v] === undefined || key[i] === (known[v] === 'yes' ? 'y' : 'n'));
  return { over: f.over, table: new Map([...f.table].map(([key, p]) => [key, fits(key) ? p : 0])) };
}

function without(f: Factor, variable: string): Factor {
  const i = f.over.indexOf(variable);
  const table = new Map<string, number>();
  for (const [key, p] of f.table) {
    const rest = key.slice(0, i) + key.slice(i + 1);
    table.set(rest, (table.get(rest) ?? 0) + p);
  }
  return { over: f.over.filter((v) => v !== variable), table };
}

/** P(known), every other variable summed out. */
export function chanceOf(net: Network, known: States): number {
  let factors = net.order.map((v) => seen(factorOf(net, v), known));
  for (const v of net.order) {
    const [with_, rest] = [factors.filter((f) => f.over.includes(v)), factors.filter((f) => !f.over.includes(v))];
    factors = [...rest, without(with_.reduce(product), v)];
  }
  return factors.reduce((p, f) => p * (f.table.get('') ?? 0), 1);
}

/** P(asked | known). */
export const chanceGiven = (net: Network, asked: States, known: States = {}): number =>
  chanceOf(net, { ...known, ...asked }) / chanceOf(net, known);
