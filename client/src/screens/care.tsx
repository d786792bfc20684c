/** Care of a machine: what is due, the plan with its intervals, running hours, and what was done. */
import { useEffect, useState } from 'preact/hooks';
import { type CareChoice, type CareState, careNow, dueNow, runningHours, usualMinutesPerBobbin } from '../domain/care';
import { careIds } from '../domain/knowledge/care-ids';
import { limits } from '../domain/records';
import { careInput, find, newId, shown } from '../read';
import { text as bookText } from '../text/book';
import { text } from '../text/care';
import { ago, when } from '../text/shell';
import { faultWords } from '../text/sizes';
import { Card, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { Switch } from '../ui/tiles';
import { type Amount, AmountField, readAmount, useFound } from './amount';
import { CareAct } from './care-acts';
import { NeedleCard } from './needle-card';
import { AtPlace } from './place';
import { Removed } from './removed';
import type { ScreenProps } from './shell';
import { formKey, useForm } from './typed';

export function Care(props: ScreenProps) {
  const { state, send } = props;
  useEffect(() => send({ type: 'load', kinds: ['event', 'careDone', 'quilt'] }), [send, state.machine]);
  const states = careNow(careInput(state.rows, state.ctx));
  const due = dueNow(states);
  return (
    <AtPlace state={state} place="frame">
      <h1>{text.title}</h1>
      <Removed {...props} />
      <Columns
        left={
          <>
            <Card title={text.due}>
              {due.length === 0 && <p>{text.nothingDue}</p>}
              {due.map((s) => (
                <Item key={s.item.id} {...props} of={s} />
              ))}
            </Card>
            <Card title={text.plan}>
              <p class="small-text">{text.planNote}</p>
              {states
                .filter((s) => !due.includes(s))
                .map((s) => (
                  <Item key={s.item.id} {...props} of={s} />
                ))}
            </Card>
          </>
        }
        right={
          <>
            <Hours {...props} />
            <NeedleCard {...props} />
            <History {...props} />
          </>
        }
      />
      <a class="button" href="/">
        {text.back}
      </a>
    </AtPlace>
  );
}

/** One thing to care for; a tap opens its cautions, its interval and a line for what was found. */
function Item(props: ScreenProps & { of: CareState }) {
  const { state, send, of } = props;
  const [open, setOpen] = useState(false);
  const { item } = of;
  const [note, setNote, key] = useForm(props, `care-${of.of}`, item.id);
  const last = of.doneAt === undefined ? text.never : text.last(ago(of.doneAt, state.ctx.now));
  const plan = shown(find(state.rows, 'carePlan', of.of), item.id);
  const intervals = (['every', 'also'] as const).slice(0, item.every.length);
  const form = `every-${of.of}`;
  /** Writes all that is chosen, also what is typed and on its way to the disk: one never takes the other's place. */
  const set = (more: CareChoice = {}) => {
    const chosen = new Map(Object.entries(typeof plan === 'object' && !Array.isArray(plan) ? (plan ?? {}) : {}));
    const used: string[] = [];
    for (const [nth, choice] of intervals.entries()) {
      const typed = state.drafts.get(formKey(form, `${item.id}-${nth}`));
      if (typed === undefined) continue;
      const read = readAmount(typed, interval, 'in');
      if ('kept' in read) chosen.set(choice, read.kept);
      else if (read.fault === 'empty') chosen.delete(choice);
      else continue;
      used.push(formKey(form, `${item.id}-${nth}`));
    }
    const now = { ...Object.fromEntries(chosen), ...more };
    send({ type: 'write', drafts: [{ kind: 'carePlan', id: of.of, set: { [item.id]: now } }], used });
  };
  const tooLong = note.length > limits.reason;
  return (
    <>
      <Row title={text.name(item.id)} detail={text.stateBy(of)} end={last} onOpen={() => setOpen(!open)} />
      {open && (
        <div class="opened">
          <ul>
            {item.cautions.map((c) => (
              <li key={c}>{text.caution(c)}</li>
            ))}
          </ul>
          <Field label={text.noted} value={note} onInput={setNote} error={tooLong ? bookText.tooLong : undefined} />
          {!tooLong && <CareAct {...props} of={of} note={{ text: note.trim(), key }} />}
          {intervals.map((choice, nth) => (
            <Interval key={choice} {...props} form={form} of={of} nth={nth} onLeft={() => set()} />
          ))}
          <Switch label={text.off} on={of.state === 'off'} onSwitch={(off) => set({ off })} />
        </div>
      )}
    </>
  );
}

const interval: Amount = { per: 1, least: 1, most: 10_000 };

/** One interval. Left empty it is the plan's again. */
function Interval(props: ScreenProps & { of: CareState; form: string; nth: number; onLeft: () => void }) {
  const { of, form, nth, onLeft } = props;
  const [typed, setTyped, key] = useForm(props, form, `${of.item.id}-${nth}`);
  const [inside, setInside] = useState(false);
  const [now, usual] = [of.used[nth], of.item.every[nth]];
  const drafted = props.state.drafts.has(key);
  const read = readAmount(typed, interval, 'in');
  const fault = drafted && 'fault' in read && read.fault !== 'empty' ? read.fault : undefined;
  const leave = () => {
    setInside(false);
    if (drafted && !fault) onLeft();
  };
  useFound(drafted ? key : undefined, inside, leave);
  if (!now || !usual) return null;
  return (
    <Field
      label={text.everyOf(usual.unit)}
      hint={text.everyHint(usual.due)}
      kind="number"
      value={drafted ? typed : String(now.due)}
      error={!inside && fault ? faultWords(fault, '1', '10000') : undefined}
      onInput={(t) => {
        setInside(true);
        setTyped(t);
      }}
      onLeave={leave}
    />
  );
}

function Hours(props: ScreenProps) {
  const { state, send } = props;
  const { ctx, machine } = state;
  const here = ctx.machines.find((m) => m.id === machine);
  const minutes = here?.minutesPerBobbin ?? usualMinutesPerBobbin;
  const counter = ctx.events.findLast((e) => e.type === 'counter');
  const since = Math.min(here?.at ?? ctx.now, ctx.events[0]?.at ?? ctx.now);
  const [typed, setTyped, key] = useForm(props, 'counter', machine);
  const [inside, setInside] = useState(false);
  const read = readAmount(typed, { per: 10, least: 0, most: 1_000_000 }, 'in');
  const write = () =>
    'kept' in read &&
    send({
      type: 'write',
      drafts: [
        { kind: 'event', id: newId(), set: { machine, type: 'counter', hoursTenths: read.kept, zone: ctx.zone } },
      ],
      used: [key],
    });
  return (
    <Card title={text.hours}>
      <p>{text.counted(runningHours(ctx.events, minutes, since - 1, ctx.now), when(since))}</p>
      {!counter && <p class="small-text">{text.byBobbins(minutes)}</p>}
      <AmountField
        {...props}
        place={{ kind: 'machine', id: machine, field: 'minutesPerBobbin' }}
        amount={{ per: 1, least: 1, most: 600 }}
        usual={usualMinutesPerBobbin}
        label={text.perBobbin}
        unit={text.minutes}
      />
      {counter && <p>{text.counterWas((counter.hoursTenths ?? 0) / 10, when(counter.at))}</p>}
      <Field
        label={text.counter}
        kind="number"
        hint={text.counterHint}
        unit="h"
        value={typed}
        error={!inside && typed !== '' && 'fault' in read ? faultWords(read.fault, '0', '1000000') : undefined}
        onInput={(t) => {
          setInside(true);
          setTyped(t);
        }}
        onLeave={() => setInside(false)}
      />
      <button type="button" disabled={'fault' in read} onClick={write}>
        {text.write}
      </button>
    </Card>
  );
}

/** As much of the history as one wants to read (our choice); all of it is in the tables that can be saved. */
const mostShown = 60;

function History({ state, send }: ScreenProps) {
  const { done } = careInput(state.rows, state.ctx);
  const logged = done.map((d) => ({
    id: d.id,
    at: d.at,
    what: (careIds as readonly string[]).includes(d.item)
      ? text.name(d.item as (typeof careIds)[number])
      : text.unknown,
    more: [d.who === 'technician' ? text.byTechnician : '', d.text].filter(Boolean).join(': '),
    ours: true,
  }));
  const facts = state.ctx.events
    .filter((e) => Object.hasOwn(text.facts, e.type))
    .map((e) => ({ id: e.id, at: e.at, what: text.facts[e.type] ?? '', more: '', ours: false }));
  const all = [...logged, ...facts].sort((a, b) => b.at - a.at).slice(0, mostShown);
  return (
    <Card title={text.history}>
      {all.length === 0 && <p>{text.noHistory}</p>}
      {all.map((h) => (
        <div key={h.id}>
          <Row title={h.what} detail={h.more} end={when(h.at)} />
          {h.ours && (
            <button
              type="button"
              class="small-act quiet"
              onClick={() => send({ type: 'remove', kind: 'careDone', id: h.id })}
            >
              {text.remove}
            </button>
          )}
        </div>
      ))}
    </Card>
  );
}
