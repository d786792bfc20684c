/** The shelf: every thread of the studio, a new one with two taps, and two compared. */
import { useState } from 'preact/hooks';
import { compare, texOf } from '../../domain/thread';
import { text } from '../../text/threads';
import { Card, Row } from '../../ui/card';
import { Columns } from '../../ui/columns';
import { TileRow } from '../../ui/tiles';
import { AtPlace } from '../place';
import { Removed } from '../removed';
import type { ScreenProps } from '../shell';
import { ThreadForm, threadOption } from '../thread-form';
import { ThreadPage } from './thread';

export function Threads(props: ScreenProps) {
  const { state } = props;
  const [, , , id] = state.path.split('/');
  if (id) return <ThreadPage {...props} id={id} />;
  const threads = state.ctx.threads.toReversed();
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <Removed {...props} />
      <Columns
        left={
          <>
            <Card title={text.add}>
              <ThreadForm {...props} form="shelf" />
            </Card>
            {threads.length > 1 && <Compare {...props} />}
          </>
        }
        right={
          <Card title={text.shelf}>
            {threads.length === 0 && <p>{text.none}</p>}
            {threads.map((t) => {
              const size = texOf(t);
              return (
                <Row
                  key={t.id}
                  title={threadOption(t).label}
                  detail={t.name}
                  end={size && text.size(size.tex, size.worth)}
                  href={`/book/threads/${t.id}`}
                />
              );
            })}
          </Card>
        }
      />
      <a class="button" href="/book">
        {text.book}
      </a>
    </AtPlace>
  );
}

function Compare({ state }: ScreenProps) {
  const [first, setFirst] = useState<string>();
  const [second, setSecond] = useState<string>();
  const { threads } = state.ctx;
  const [a, b] = [threads.find((t) => t.id === first), threads.find((t) => t.id === second)];
  const rows = [
    ['first', text.first, first, setFirst],
    ['second', text.second, second, setSecond],
  ] as const;
  const said = a && b && compare(a, b);
  return (
    <Card title={text.compare}>
      {rows.map(([name, legend, chosen, choose]) => (
        <TileRow
          key={name}
          name={name}
          legend={legend}
          size="chip"
          options={threads.map(threadOption)}
          chosen={chosen === undefined ? [] : [chosen]}
          onChoose={(id, on) => choose(on ? id : undefined)}
        />
      ))}
      <p role="status">
        {!a || !b
          ? text.compareHint
          : said
            ? text.compared(said, threadOption(a).label, threadOption(b).label)
            : text.noCompare}
      </p>
    </Card>
  );
}
