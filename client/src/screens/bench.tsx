/** What is set up on one machine, and what is known of the machine itself. Each answer is one write. */
import { useState } from 'preact/hooks';
import { blankQuilt, caseOf, casesHere, newCase, newQuilt, sameQuilt } from '../domain/bench';
import { machineOf, newMachine, turns } from '../domain/machine';
import { bobbinScrew, topScrew } from '../domain/task/ledger';
import { type Draft, find, formKind, type Json, list, newId, shown } from '../read';
import { text } from '../text/bench';
import { text as frameText } from '../text/frame';
import { Card, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import { Choice } from './choice';
import { NeedleCard } from './needle-card';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { ThreadForm, threadOption } from './thread-form';
import { useForm, Words } from './typed';
import { Which } from './which';

type Setter = (field: string, value: Json) => void;

export function Bench(props: ScreenProps) {
  const { state, send } = props;
  const { machine } = state;
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
            <Quilt {...props} />
            <Thread {...props} field="topThread" label={text.top} set={set} />
            <Thread {...props} field="bobbinThread" label={text.bobbin} set={set} />
            <Card>
              {(['batting', 'backing'] as const).map((field) => (
                <Words key={field} {...props} kind="bench" id={machine} field={field} label={text[field]} />
              ))}
            </Card>
            <NeedleCard {...props} />
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

function Quilt(props: ScreenProps) {
  const { state, send } = props;
  const { ctx } = state;
  const quilt = ctx.bench.quilt;
  const row = quilt ? find(state.rows, 'quilt', quilt) : undefined;
  const again = sameQuilt(ctx);
  const [made, setMade] = useState('');
  // The one just made is being filled in: the button would be taken for "save it".
  const filling = quilt !== undefined && (quilt === made || blankQuilt(ctx));
  const make = () => {
    const id = newId();
    setMade(id);
    send({ type: 'write', drafts: newQuilt(ctx, id) });
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
      {filling && <p role="status">{text.filling}</p>}
      <div class="acts">
        {!filling && (
          <button type="button" onClick={make}>
            {text.newQuilt}
          </button>
        )}
        {again && (
          <button type="button" onClick={() => send({ type: 'write', drafts: again })}>
            {text.sameQuilt}
          </button>
        )}
      </div>
      {!filling && <p class="small-text">{text.newQuiltNote}</p>}
    </Card>
  );
}

function Thread(props: ScreenProps & { field: 'topThread' | 'bobbinThread'; label: string; set: Setter }) {
  const { state, field, label, set } = props;
  const [adding, setAdding] = useState(['number', 'fibre'].some((f) => state.drafts.has(`${formKind}/${field}/${f}`)));
  const now = state.ctx.bench[field];
  const threads = state.ctx.threads.map(threadOption);
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
        <ThreadForm
          {...props}
          form={field}
          onAdded={(id) => {
            set(field, id);
            setAdding(false);
          }}
        />
      )}
    </Card>
  );
}

function Cases(props: ScreenProps & { set: Setter }) {
  const { state, send, set } = props;
  const [label, setLabel, labelKey] = useForm(props, 'bobbinCase', 'label');
  const cases = casesHere(state.ctx).map((c) => ({ id: c.id, label: c.label }));
  const add = () => send({ type: 'write', drafts: newCase(state.ctx, newId(), label), used: [labelKey] });
  const now = caseOf(state.ctx);
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
          <Tightens {...props} screw={bobbinScrew(now.id)} way={now.tightens} />
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
  const m = machineOf(ctx);
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
      <Tightens {...props} screw={topScrew(machine)} way={m?.topTightens} />
      <button
        type="button"
        class="small-act"
        onClick={() => {
          const id = newId();
          const name = `${text.machine} ${list(state.rows, 'machine').length + 1}`;
          send({ type: 'write', drafts: newMachine(ctx, id, name) });
          send({ type: 'pick-machine', machine: id });
        }}
      >
        {text.addMachine}
      </button>
    </Card>
  );
}

/** Which way a screw tightens, and the trial that tells: once for each screw, and again for one that was told wrong. */
function Tightens(props: ScreenProps & { screw: string; way: keyof typeof text.ways | undefined }) {
  const { state, send, screw, way } = props;
  return (
    <>
      <Row
        title={text.tightens}
        detail={way ? (turns(screw, state.ctx) ? text.ways : text.numberWays)[way] : text.notTested}
      />
      <button
        type="button"
        class="small-act"
        onClick={() => send({ type: 'begin', task: 'ask', with: { question: 'tightens', screw, anew: true } })}
      >
        {way ? text.tryAgain : text.tryOut}
      </button>
    </>
  );
}
