/** What is set up on one machine, and what is known of the machine itself. Each answer is one write. */
import { useState } from 'preact/hooks';
import { bothKept, type Draft, find, type Json, list, newId, plain, shown } from '../read';
import { text } from '../text/bench';
import { Card, Row } from '../ui/card';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';

type Setter = (field: string, value: Json) => void;

const options = (names: { readonly [id: string]: string }) =>
  Object.entries(names).map(([id, label]) => ({ id, label }));

export function Bench(props: ScreenProps) {
  const { state, send } = props;
  const { machine } = state;
  const zone = state.ctx.zone;
  const write = (drafts: readonly Draft[]) => send({ type: 'write', drafts });
  const set: Setter = (field, value) => write([{ kind: 'bench', id: machine, set: { [field]: value } }]);
  const bench = find(state.rows, 'bench', machine);
  const both = bench ? bothKept(bench) : [];
  return (
    <AtPlace state={state} place="frame">
      <h1>{text.title}</h1>
      {bench && both.map((field) => <Which key={field} {...props} field={field} />)}
      <Quilt {...props} set={set} zone={zone} />
      <Thread {...props} field="topThread" label={text.top} set={set} />
      <Thread {...props} field="bobbinThread" label={text.bobbin} set={set} />
      <Card title={text.bobbinCase}>
        <Cases {...props} set={set} />
        <TileRow
          name="bobbinKind"
          legend={text.bobbinKind}
          size="chip"
          options={options(text.kinds)}
          chosen={chosen(shown(bench, 'bobbinKind'))}
          onChoose={(id, on) => set('bobbinKind', on ? id : '')}
        />
      </Card>
      <Card>
        {(['needle', 'batting', 'backing'] as const).map((field) => (
          <Words key={field} {...props} kind="bench" id={machine} field={field} label={text[field]} />
        ))}
      </Card>
      <Machine {...props} />
      <a class="button paired wide" href="/">
        {text.back}
      </a>
    </AtPlace>
  );
}

const chosen = (value: Json | undefined): string[] => (typeof value === 'string' && value !== '' ? [value] : []);

/** A text field that is written as it is typed, with its draft kept. */
function Words({
  state,
  send,
  kind,
  id,
  field,
  label,
}: ScreenProps & { kind: string; id: string; field: string; label: string }) {
  const typed = state.drafts.get(`${kind}/${id}/${field}`);
  const kept = shown(find(state.rows, kind, id), field);
  return (
    <Field
      label={label}
      value={typed ?? (typeof kept === 'string' ? kept : '')}
      onInput={(t) => send({ type: 'typed', kind, id, field, text: t })}
      onLeave={() => send({ type: 'left-field', kind, id, field })}
    />
  );
}

/** Two phones set this field apart: both stay until somebody looks. */
function Which({ state, send, field }: ScreenProps & { field: string }) {
  const row = find(state.rows, 'bench', state.machine);
  const values = row?.fields[field]?.live ?? [];
  const label = (value: Json | undefined): string => {
    const named = ['thread', 'bobbinCase', 'quilt']
      .map((kind) => (typeof value === 'string' ? find(state.rows, kind, value) : undefined))
      .find(Boolean);
    if (!named) return String(value ?? '');
    const p = plain(named);
    return String(p.label ?? p.name ?? [p.number, p.fibre].filter(Boolean).join(' '));
  };
  return (
    <TileRow
      name={`which-${field}`}
      legend={text.both}
      options={values.map((v) => ({ id: v.dot, label: label(v.value) }))}
      chosen={[]}
      onChoose={(dot) => {
        const value = values.find((v) => v.dot === dot)?.value;
        if (value !== undefined)
          send({ type: 'write', drafts: [{ kind: 'bench', id: state.machine, set: { [field]: value } }] });
      }}
    />
  );
}

function Quilt(props: ScreenProps & { set: Setter; zone: number }) {
  const { state, send, zone } = props;
  const { machine, ctx } = state;
  const quilt = ctx.bench.quilt;
  const row = quilt ? find(state.rows, 'quilt', quilt) : undefined;
  const bench = find(state.rows, 'bench', machine);
  const previous = shown(bench, 'previous');
  const start = () => {
    const id = newId();
    const before = { quilt: ctx.bench.quilt ?? '', batting: ctx.bench.batting ?? '', backing: ctx.bench.backing ?? '' };
    send({
      type: 'write',
      drafts: [
        { kind: 'quilt', id, set: { machine, name: '', zone } },
        { kind: 'bench', id: machine, set: { quilt: id, batting: '', backing: '', previous: before } },
      ],
    });
  };
  const again = () => {
    if (typeof previous !== 'object' || previous === null || Array.isArray(previous)) return;
    const { quilt = '', batting = '', backing = '' } = previous as { [f: string]: Json };
    send({ type: 'write', drafts: [{ kind: 'bench', id: machine, set: { quilt, batting, backing } }] });
  };
  return (
    <Card title={text.quilt}>
      {row && quilt && (
        <>
          <Words {...props} kind="quilt" id={quilt} field="name" label={text.quiltName} />
          <TileRow
            name="work"
            legend={text.work}
            size="chip"
            options={options(text.works)}
            chosen={chosen(shown(row, 'work'))}
            onChoose={(id) => send({ type: 'write', drafts: [{ kind: 'quilt', id: quilt, set: { work: id } }] })}
          />
        </>
      )}
      <div class="acts">
        <button type="button" onClick={start}>
          {text.newQuilt}
        </button>
        {previous !== undefined && (
          <button type="button" onClick={again}>
            {text.sameQuilt}
          </button>
        )}
      </div>
      <p class="small-text">{text.newQuiltNote}</p>
    </Card>
  );
}

function Thread(props: ScreenProps & { field: 'topThread' | 'bobbinThread'; label: string; set: Setter }) {
  const { state, send, field, label, set } = props;
  const [adding, setAdding] = useState(false);
  const [number, setNumber] = useState('');
  const [fibre, setFibre] = useState('');
  const [colour, setColour] = useState('');
  const now = state.ctx.bench[field];
  const threads = state.ctx.threads.map((t) => ({ id: t.id, label: [t.number, t.fibre].filter(Boolean).join(' ') }));
  const add = () => {
    const id = newId();
    send({
      type: 'write',
      drafts: [
        { kind: 'thread', id, set: { number, fibre, ...(colour ? { colour } : {}), zone: state.ctx.zone } },
        { kind: 'bench', id: state.machine, set: { [field]: id } },
      ],
    });
    setAdding(false);
    setNumber('');
    setFibre('');
    setColour('');
  };
  return (
    <Card title={label}>
      {threads.length > 0 && (
        <TileRow
          name={field}
          legend={label}
          hideLegend
          size="chip"
          options={threads}
          chosen={now ? [now] : []}
          onChoose={(id, on) => set(field, on ? id : '')}
        />
      )}
      {!adding && (
        <button type="button" class="small-act" onClick={() => setAdding(true)}>
          {text.addThread}
        </button>
      )}
      {adding && (
        <>
          <TileRow
            name={`${field}-number`}
            legend={text.number}
            size="chip"
            options={text.numbers.map((n) => ({ id: n, label: n }))}
            chosen={chosen(number)}
            onChoose={(id) => setNumber(id)}
          />
          <Field
            label={text.otherNumber}
            value={text.numbers.includes(number) ? '' : number}
            onInput={(t) => setNumber(t.slice(0, 80))}
          />
          <TileRow
            name={`${field}-fibre`}
            legend={text.fibre}
            size="chip"
            options={text.fibres.map((f) => ({ id: f, label: f }))}
            chosen={chosen(fibre)}
            onChoose={(id) => setFibre(id)}
          />
          <label class="field">
            <span>{text.colour}</span>
            <input type="color" value={colour || '#808080'} onInput={(e) => setColour(e.currentTarget.value)} />
          </label>
          <button type="button" class="paired wide" disabled={!number && !fibre} onClick={add}>
            {text.addIt}
          </button>
        </>
      )}
    </Card>
  );
}

function Cases({ state, send, set }: ScreenProps & { set: Setter }) {
  const [label, setLabel] = useState('');
  const cases = state.ctx.bobbinCases.map((c) => ({ id: c.id, label: c.label }));
  const add = () => {
    const id = newId();
    send({
      type: 'write',
      drafts: [
        { kind: 'bobbinCase', id, set: { label: label.trim(), fits: [state.machine], zone: state.ctx.zone } },
        { kind: 'bench', id: state.machine, set: { bobbinCase: id } },
      ],
    });
    setLabel('');
  };
  const now = state.ctx.bobbinCases.find((c) => c.id === state.ctx.bench.bobbinCase);
  return (
    <>
      {cases.length > 0 && (
        <TileRow
          name="bobbinCase"
          legend={text.bobbinCase}
          hideLegend
          size="chip"
          options={cases}
          chosen={now ? [now.id] : []}
          onChoose={(id, on) => set('bobbinCase', on ? id : '')}
        />
      )}
      {now && (
        <>
          <TileRow
            name="penLine"
            legend={text.pen}
            hideLegend
            many
            size="chip"
            options={[{ id: 'pen', label: text.pen }]}
            chosen={now.penLine ? ['pen'] : []}
            onChoose={(_, on) =>
              send({ type: 'write', drafts: [{ kind: 'bobbinCase', id: now.id, set: { penLine: on } }] })
            }
          />
          <Row title={text.tightens} detail={now.tightens ? text.ways[now.tightens] : text.notTested} />
        </>
      )}
      <Field label={text.caseLabel} value={label} onInput={(t) => setLabel(t.slice(0, 80))} />
      <button type="button" class="small-act" disabled={label.trim() === ''} onClick={add}>
        {text.addCase}
      </button>
    </>
  );
}

function Machine(props: ScreenProps) {
  const { state, send } = props;
  const { machine, ctx } = state;
  const row = find(state.rows, 'machine', machine);
  const set: Setter = (field, value) =>
    send({ type: 'write', drafts: [{ kind: 'machine', id: machine, set: { [field]: value } }] });
  const m = ctx.machines.find((x) => x.id === machine);
  return (
    <Card title={text.machine}>
      <Words {...props} kind="machine" id={machine} field="name" label={text.machineName} />
      <TileRow
        name="body"
        legend={text.body}
        size="chip"
        options={options(text.bodies)}
        chosen={chosen(shown(row, 'body'))}
        onChoose={(id) => set('body', id)}
      />
      <TileRow
        name="topKnob"
        legend={text.topKnob}
        size="chip"
        options={options(text.knobs)}
        chosen={chosen(shown(row, 'topKnob'))}
        onChoose={(id) => set('topKnob', id)}
      />
      <TileRow
        name="modes"
        legend={text.modes}
        many
        size="chip"
        options={options(text.modeNames)}
        chosen={m?.modes ?? []}
        onChoose={(id, on) => set('modes', on ? [...(m?.modes ?? []), id] : (m?.modes ?? []).filter((x) => x !== id))}
      />
      <Row title={text.tightens} detail={m?.topTightens ? text.ways[m.topTightens] : text.notTested} />
      <button
        type="button"
        class="small-act"
        onClick={() => {
          const id = newId();
          const name = `${text.machine} ${list(state.rows, 'machine').length + 1}`;
          send({ type: 'write', drafts: [{ kind: 'machine', id, set: { name, zone: ctx.zone } }] });
          send({ type: 'pick-machine', machine: id });
        }}
      >
        {text.addMachine}
      </button>
    </Card>
  );
}
