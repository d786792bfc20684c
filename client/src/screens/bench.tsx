/** What is set up on one machine, and what is known of the machine itself. Each answer is one write. */
import { useState } from 'preact/hooks';
import { type Draft, find, formKind, type Json, list, newId, shown } from '../read';
import { text } from '../text/bench';
import { text as frameText } from '../text/frame';
import { Card, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import { Choice } from './choice';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { Which } from './which';

type Setter = (field: string, value: Json) => void;

export function Bench(props: ScreenProps) {
  const { state, send } = props;
  const { machine } = state;
  const zone = state.ctx.zone;
  const write = (drafts: readonly Draft[]) => send({ type: 'write', drafts });
  const set: Setter = (field, value) => write([{ kind: 'bench', id: machine, set: { [field]: value } }]);
  const bench = find(state.rows, 'bench', machine);
  return (
    <AtPlace state={state} place="frame">
      <h1>{text.title}</h1>
      <Which {...props} kind="bench" id={machine} names={frameText.bench} />
      <Columns
        left={
          <>
            <Quilt {...props} set={set} zone={zone} />
            <Thread {...props} field="topThread" label={text.top} set={set} />
            <Thread {...props} field="bobbinThread" label={text.bobbin} set={set} />
            <Card>
              {(['needle', 'batting', 'backing'] as const).map((field) => (
                <Words key={field} {...props} kind="bench" id={machine} field={field} label={text[field]} />
              ))}
            </Card>
          </>
        }
        right={
          <>
            <Card title={text.bobbinCase}>
              <Cases {...props} set={set} />
              <Choice
                name="bobbinKind"
                legend={text.bobbinKind}
                names={text.kinds}
                chosen={chosen(shown(bench, 'bobbinKind'))}
                onChoose={(id, on) => set('bobbinKind', on ? id : '')}
              />
            </Card>
            <Machine {...props} />
          </>
        }
      />
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

/** A text of a form that is no record yet: kept as it is typed, until the form is used. */
function useForm({ state, send }: ScreenProps, id: string, field: string) {
  const place = { kind: formKind, id, field } as const;
  const key = `${formKind}/${id}/${field}`;
  const put = (words: string) => send({ type: 'typed', ...place, text: words });
  return [state.drafts.get(key) ?? '', put, key] as const;
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
          <Which {...props} kind="quilt" id={quilt} names={{ name: text.quiltName, work: text.work }} />
          <Choice
            name="work"
            legend={text.work}
            names={text.works}
            chosen={chosen(shown(row, 'work'))}
            onChoose={(work) => send({ type: 'write', drafts: [{ kind: 'quilt', id: quilt, set: { work } }] })}
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

const threadOption = (t: { id: string; number?: string; fibre?: string }) => ({
  id: t.id,
  label: [t.number, t.fibre].filter(Boolean).join(' '),
});

function Thread(props: ScreenProps & { field: 'topThread' | 'bobbinThread'; label: string; set: Setter }) {
  const { state, send, field, label, set } = props;
  const [number, setNumber, numberKey] = useForm(props, field, 'number');
  const [fibre, setFibre, fibreKey] = useForm(props, field, 'fibre');
  const [colour, setColour, colourKey] = useForm(props, field, 'colour');
  const [adding, setAdding] = useState(number !== '' || fibre !== '');
  const now = state.ctx.bench[field];
  const threads = state.ctx.threads.map(threadOption);
  const add = () => {
    const id = newId();
    send({
      type: 'write',
      drafts: [
        { kind: 'thread', id, set: { number, fibre, ...(colour ? { colour } : {}), zone: state.ctx.zone } },
        { kind: 'bench', id: state.machine, set: { [field]: id } },
      ],
      used: [numberKey, fibreKey, colourKey],
    });
    setAdding(false);
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
            onInput={(t) => setNumber(t.slice(0, 40))}
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

function Cases(props: ScreenProps & { set: Setter }) {
  const { state, send, set } = props;
  const [label, setLabel, labelKey] = useForm(props, 'bobbinCase', 'label');
  const cases = state.ctx.bobbinCases.map((c) => ({ id: c.id, label: c.label }));
  const add = () => {
    const id = newId();
    send({
      type: 'write',
      drafts: [
        { kind: 'bobbinCase', id, set: { label: label.trim(), fits: [state.machine], zone: state.ctx.zone } },
        { kind: 'bench', id: state.machine, set: { bobbinCase: id } },
      ],
      used: [labelKey],
    });
  };
  const now = state.ctx.bobbinCases.find((c) => c.id === state.ctx.bench.bobbinCase);
  const change = (more: Draft['set']) =>
    now && send({ type: 'write', drafts: [{ kind: 'bobbinCase', id: now.id, set: more }] });
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
          <Which
            {...props}
            kind="bobbinCase"
            id={now.id}
            names={{ label: text.bobbinCase, tightens: text.tightens, setFor: text.setFor }}
          />
          <Words {...props} kind="bobbinCase" id={now.id} field="label" label={text.caseName} />
          <TileRow
            name="fits"
            legend={text.fits}
            many
            size="chip"
            options={state.ctx.machines.map((m) => ({ id: m.id, label: m.name }))}
            chosen={now.fits ?? []}
            onChoose={(id, on) => {
              const others = (now.fits ?? []).filter((m) => m !== id);
              change({ fits: on ? [...others, id] : others });
            }}
          />
          {state.ctx.threads.length > 0 && (
            <TileRow
              name="setFor"
              legend={text.setFor}
              size="chip"
              options={state.ctx.threads.map(threadOption)}
              chosen={now.setFor ? [now.setFor] : []}
              onChoose={(id, on) => change({ setFor: on ? id : '' })}
            />
          )}
          <TileRow
            name="penLine"
            legend={text.pen}
            hideLegend
            many
            size="chip"
            options={[{ id: 'pen', label: text.pen }]}
            chosen={now.penLine ? ['pen'] : []}
            onChoose={(_, on) => change({ penLine: on })}
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
      <Which
        {...props}
        kind="machine"
        id={machine}
        names={{ name: text.machineName, body: text.body, topKnob: text.topKnob, topTightens: text.tightens }}
      />
      <Words {...props} kind="machine" id={machine} field="name" label={text.machineName} />
      <Choice
        name="body"
        legend={text.body}
        names={text.bodies}
        chosen={chosen(shown(row, 'body'))}
        onChoose={(id) => set('body', id)}
      />
      <Choice
        name="topKnob"
        legend={text.topKnob}
        names={text.knobs}
        chosen={chosen(shown(row, 'topKnob'))}
        onChoose={(id) => set('topKnob', id)}
      />
      <Choice
        name="modes"
        legend={text.modes}
        many
        names={text.modeNames}
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
