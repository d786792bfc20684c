/** Published networks: queries against exact inference. A query leans on the entry that holds its network. */
import type { Calcs, CheckValue } from './calc';
import { chanceGiven, chanceOf, type Network } from './exact-inference';

function network(name: string, all: readonly CheckValue[]): Network {
  const entry = all.find((v) => v.calc === 'network' && v.given.net === name);
  if (!entry) throw new RangeError(`no network ${name} in the file`);
  const { order, parents, p_yes } = entry.expect as Network & { readonly p_yes: Network['yes'] };
  return { order, parents, yes: p_yes };
}

export const networks: Calcs = {
  bn_query: (g, all) => {
    const net = network(g.net, all);
    if (g.query === 'evidence') return chanceOf(net, g.evidence);
    return chanceGiven(net, typeof g.query === 'string' ? { [g.query]: 'yes' } : g.query, g.evidence);
  },
};
