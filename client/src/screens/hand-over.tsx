/** One machine handed over: who gives it says how it is, who takes it says "I have it". On the screen, on paper, in a file. */
import { useEffect, useRef } from 'preact/hooks';
import { mostStations } from '../domain/class-board';
import { type Given, give, giveFault, giveLimits, handOver, take, type Verdict, verdicts } from '../domain/hand-over';
import { machineOf } from '../domain/machine';
import { newId } from '../read';
import { dayOf } from '../text/copy';
import { text } from '../text/hand-over';
import { text as paperText } from '../text/paper';
import { text as stationText } from '../text/station';
import { Card } from '../ui/card';
import { Field } from '../ui/field';
import { pageFile } from '../ui/page-file';
import { PrintButton } from '../ui/print-button';
import { Choice } from './choice';
import { FileDoor } from './file-door';
import { HandOverPage } from './hand-over/page';
import { StationPage, stationNumber } from './hand-over/station';
import { TechnicianPage } from './hand-over/technician';
import { PaperChoice } from './paper-choice';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { useForm } from './typed';

export function HandOver(props: ScreenProps) {
  const { state, send } = props;
  useEffect(
    () => send({ type: 'load', kinds: ['person', 'photo', 'symptom', 'event', 'careDone', 'quilt'] }),
    [send, state.machine],
  );
  const sheet = useRef<HTMLDivElement>(null);
  const version = (['technician', 'station'] as const).find((v) => state.path.endsWith(`/${v}`)) ?? 'taker';
  const [number, setNumber] = useForm(props, `station-${state.machine}`, 'number');
  const page = handOver(state.ctx);
  const { said, taken } = page;
  const name = machineOf(state.ctx)?.name ?? '';
  const share = () => {
    const article = sheet.current?.parentElement?.querySelector<HTMLElement>('article.paper');
    if (!article) return;
    const title = { taker: text.page, technician: text.technicianPage, station: stationText.title }[version](name);
    send({ type: 'give-file', file: pageFile(article, title), name: text.file(dayOf(Date.now())) });
  };
  return (
    <AtPlace state={state} place="frame">
      <h1>{text.title}</h1>
      {said?.given && !taken && (
        <button
          type="button"
          class="main-act"
          onClick={() => send({ type: 'write', drafts: take(said.given ?? '', state.ctx, newId()) })}
        >
          {text.take}
        </button>
      )}
      <Choice
        name="version"
        legend={text.version}
        names={text.versions}
        chosen={[version]}
        onChoose={(v) => send({ type: 'go', path: v === 'taker' ? '/hand-over' : `/hand-over/${v}` })}
      />
      {version === 'station' && (
        <Field
          label={stationText.number}
          kind="number"
          value={number}
          error={number && stationNumber(number) === undefined ? stationText.noNumber(mostStations) : undefined}
          onInput={setNumber}
        />
      )}
      {version === 'taker' && <HandOverPage state={state} page={page} />}
      {version === 'technician' && <TechnicianPage state={state} page={page} />}
      {version === 'station' && <StationPage state={state} number={number} />}
      <div ref={sheet} class="acts">
        <button type="button" class="paired" onClick={share}>
          {text.share}
        </button>
      </div>
      <PaperChoice {...props} />
      <PrintButton label={paperText.print} />
      <Give {...props} />
      {page.good && (
        <FileDoor
          label={text.addPhoto}
          accept="image/*"
          onFile={(file) => send({ type: 'photo', parentKind: 'event', parent: page.good?.id ?? '', file })}
        />
      )}
      <a class="button" href="/">
        {text.back}
      </a>
    </AtPlace>
  );
}

/** How it is, by whoever gives it. What is typed and chosen stays until it is given. */
function Give(props: ScreenProps) {
  const { state, send } = props;
  const form = `give-${state.machine}`;
  const [verdict, setVerdict, verdictKey] = useForm(props, form, 'verdict');
  const [reason, setReason, reasonKey] = useForm(props, form, 'reason');
  const [row, setRow, rowKey] = useForm(props, form, 'row');
  const [tight, setTight, tightKey] = useForm(props, form, 'tight');
  const chosen = verdicts.find((v) => v === verdict);
  const given: Given | undefined = chosen && { verdict: chosen, reason, row, tight };
  const fault = given && giveFault(given, state.ctx);
  const write = () =>
    given &&
    send({
      type: 'write',
      drafts: give(given, state.ctx, [newId(), newId()]),
      used: [verdictKey, reasonKey, rowKey, tightKey],
    });
  const tooLong = (words: string, most: number) => (words.length > most ? text.fault('too-long') : undefined);
  return (
    <Card title={text.give}>
      <Choice
        name="verdict"
        legend={text.verdict}
        names={text.verdicts}
        chosen={chosen ? [chosen] : []}
        onChoose={(v: Verdict) => setVerdict(v)}
      />
      <Field
        label={text.reason}
        kind="long"
        value={reason}
        onInput={setReason}
        error={tooLong(reason, giveLimits.reason)}
      />
      <Field label={text.row} hint={text.rowHint} value={row} onInput={setRow} error={tooLong(row, giveLimits.row)} />
      <Choice
        name="tight"
        legend={text.tight}
        names={text.tightStates}
        chosen={tight ? [tight] : []}
        onChoose={(t, on) => setTight(on ? t : '')}
      />
      <p class="small-text">{text.giveNote}</p>
      {fault && <p role="status">{text.fault(fault)}</p>}
      <button type="button" class="paired wide" disabled={!given || fault !== undefined} onClick={write}>
        {text.giveIt}
      </button>
    </Card>
  );
}
