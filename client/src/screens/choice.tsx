/** One question with its few named answers, as chips. */
import { TileRow } from '../ui/tiles';

export function Choice<Id extends string>(props: {
  name: string;
  legend: string;
  names: { readonly [id in Id]: string };
  chosen: readonly string[];
  many?: boolean;
  onChoose: (id: Id, on: boolean) => void;
}) {
  const { names, onChoose, ...rest } = props;
  const options = Object.entries<string>(names).map(([id, label]) => ({ id, label }));
  return <TileRow {...rest} size="chip" options={options} onChoose={(id, on) => onChoose(id as Id, on)} />;
}
