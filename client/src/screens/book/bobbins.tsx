/** Bobbins for a quilt: the studio's own count first, geometry on request, and the wound ones counted down. */
import { useEffect, useState } from 'preact/hooks';
import { ownQuilts, spacingOf } from '../../domain/bobbin-plan';
import type { Quilt as QuiltNow } from '../../domain/task/context';
import type { SizeFault } from '../../domain/units';
import { woundLeft } from '../../domain/wound';
import { list, newId, quiltsOf, shown } from '../../read';
import { text as benchText } from '../../text/bench';
import { text } from '../../text/bobbins';
import { faultWords, length } from '../../text/sizes';
import { Card } from '../../ui/card';
import { Columns } from '../../ui/columns';
import { Field } from '../../ui/field';
import { type Amount, AmountField, readAmount } from '../amount';
import { Choice } from '../choice';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { threadOption } from '../thread-form';
import { useForm, Words } from '../typed';
import { Geometry } from './bobbin-geometry';

const side: Amount = { size: true, per: 1, least: 50, most: 20_000 };
const small: Amount = { size: true, per: 1000, least: 0.5, most: 2_000 };

export function Bobbins(props: ScreenProps) {
  const { state, send } = props;
  useEffect(() => send({ type: 'load', kinds: ['quilt', 'event'] }), [send, state.machine]);
  const id = state.ctx.bench.quilt;
  const quilt = state.ctx.quilts.find((q) => q.id === id);
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <Columns
        left={
          id && quilt ? (
            <Quilt {...props} id={id} quilt={quilt} />
          ) : (
            <Card title={text.quilt}>
              <p>{text.noQuilt}</p>
              <a class="button" href="/bench">
                {text.setUp}
              </a>
            </Card>
          )
        }
        right={
          <>
            {id && quilt && <Own {...props} id={id} quilt={quilt} />}
            <Wound {...props} />
            {id && quilt && <Geometry {...props} id={id} quilt={quilt} />}
          </>
        }
      />
      <a class="button" href="/book">
        {text.back}
      </a>
    </AtPlace>
  );
}

type OfQuilt = ScreenProps & { id: string; quilt: QuiltNow };

function Quilt(props: OfQuilt) {
  const { send, id, quilt } = props;
  const at = (field: string) => ({ kind: 'quilt', id, field });
  return (
    <Card title={text.quilt}>
      <Words {...props} kind="quilt" id={id} field="name" label={text.name} />
      <Choice
        name="work"
        legend={benchText.work}
        names={benchText.works}
        chosen={quilt.work ? [quilt.work] : []}
        onChoose={(work, on) =>
          send({ type: 'write', drafts: [{ kind: 'quilt', id, set: { work: on ? work : null } }] })
        }
      />
      <AmountField {...props} place={at('widthMm')} amount={side} label={text.width} hint={text.sizeHint} />
      <AmountField {...props} place={at('heightMm')} amount={side} label={text.height} />
      <AmountField {...props} place={at('spacingUm')} amount={small} label={text.spacing} hint={text.spacingHint} />
      <Square {...props} />
    </Card>
  );
}

/** A measured square of the pattern, which stands for a distance of lines. */
function Square(props: OfQuilt) {
  const { state, send, id } = props;
  const [open, setOpen] = useState(false);
  const [sideTyped, setSide, sideKey] = useForm(props, `square-${id}`, 'side');
  const [lineTyped, setLine, lineKey] = useForm(props, `square-${id}`, 'line');
  const plain = state.settings.units;
  const [a, b] = [readAmount(sideTyped, small, plain), readAmount(lineTyped, { ...small, most: 100_000 }, plain)];
  const mm = 'kept' in a && 'kept' in b ? spacingOf(a.kept / 1000, b.kept / 1000) : undefined;
  const far = mm === undefined ? undefined : mm < small.least ? 'too-small' : mm > small.most ? 'too-big' : undefined;
  const words = (fault: SizeFault, most: number) => faultWords(fault, length(small.least, plain), length(most, plain));
  const fault = (read: typeof a, most: number) =>
    'fault' in read && read.fault !== 'empty' ? words(read.fault, most) : undefined;
  if (!open && sideTyped === '' && lineTyped === '')
    return (
      <button type="button" class="small-act" onClick={() => setOpen(true)}>
        {text.square}
      </button>
    );
  return (
    <>
      <p class="small-text">{text.squareHint}</p>
      <Field label={text.squareSide} value={sideTyped} onInput={setSide} error={fault(a, small.most)} />
      <Field label={text.squareLine} value={lineTyped} onInput={setLine} error={fault(b, 100_000)} />
      {mm !== undefined && (
        <div class="field">
          <p role={far ? 'alert' : 'status'}>
            {text.squareGives(length(mm, plain))} {far && words(far, small.most)}
          </p>
        </div>
      )}
      <button
        type="button"
        disabled={mm === undefined || far !== undefined}
        onClick={() => {
          const spacingUm = Math.round((mm ?? 0) * 1000);
          send({ type: 'write', drafts: [{ kind: 'quilt', id, set: { spacingUm } }], used: [sideKey, lineKey] });
        }}
      >
        {text.useSquare}
      </button>
    </>
  );
}

function Own(props: OfQuilt) {
  const { state } = props;
  const open = new Set(list(state.rows, 'bench').map((b) => String(shown(b, 'quilt'))));
  const { quilt } = props;
  const said = ownQuilts(quiltsOf(state.rows), open, quilt, state.machine);
  return (
    <Card title={text.own}>
      <p role="status">{said ? text.ownCount(said) : quilt.widthMm && quilt.heightMm ? text.noOwn : text.noSize}</p>
    </Card>
  );
}

const countOf: Amount = { per: 1, least: 0, most: 1_000 };

/** One line: how many are wound, counted down by "New bobbin". */
function Wound(props: ScreenProps) {
  const { state, send } = props;
  const { bench, threads, events } = state.ctx;
  const [typed, setTyped, key] = useForm(props, 'wound', 'count');
  const [inside, setInside] = useState(false);
  const read = readAmount(typed, countOf, 'in');
  const thread = threads.find((t) => t.id === bench.bobbinThread);
  const now = woundLeft(events, bench.bobbinThread);
  const fault = typed !== '' && !inside && 'fault' in read ? read.fault : undefined;
  const write = () => {
    const { machine, ctx } = state;
    if ('fault' in read) return setInside(false);
    const set = { machine, type: 'wound', count: read.kept, thread: bench.bobbinThread ?? null, zone: ctx.zone };
    send({ type: 'write', drafts: [{ kind: 'event', id: newId(), set }], used: [key] });
  };
  return (
    <Card title={text.wound}>
      <p role="status">
        {now === undefined ? text.woundNone : text.woundNow(now, thread ? threadOption(thread).label : '')}
      </p>
      <Field
        label={text.woundField}
        kind="number"
        hint={text.woundHint}
        value={typed}
        error={fault && faultWords(fault, '0', '1000')}
        onInput={(t) => {
          setInside(true);
          setTyped(t);
        }}
        onLeave={() => setInside(false)}
      />
      <button type="button" onClick={write} disabled={typed.trim() === ''}>
        {text.woundWrite}
      </button>
      <p class="small-text">{text.windWell}</p>
    </Card>
  );
}
