/** Bobbins by geometry: the answer, and what it stands on. */
import { useState } from 'preact/hooks';
import { usualLock, usualStitchesPerInch, usualThicknessMm, usualWaste, usualWinding } from '../../domain/bobbin';
import { planFor } from '../../domain/bobbin-plan';
import type { Quilt } from '../../domain/task/context';
import { texOf, usualPacking } from '../../domain/thread';
import { text } from '../../text/bobbins';
import { text as threadText } from '../../text/threads';
import { Card, Row } from '../../ui/card';
import { type Amount, AmountField } from '../amount';
import type { ScreenProps } from '../shell';
import { threadOption } from '../thread-form';

const bobbinSide: Amount = { size: true, per: 1000, least: 1, most: 100 };

/** Opened on request: what thread must lie in so many stitches, with every assumption open to change. */
export function Geometry(props: ScreenProps & { id: string; quilt: Quilt }) {
  const { state, id, quilt: now } = props;
  const [open, setOpen] = useState(false);
  const { machines, threads, bench } = state.ctx;
  const machine = machines.find((m) => m.id === state.machine);
  const of = (thread: string | undefined) => threads.find((t) => t.id === thread);
  if (!open)
    return (
      <button type="button" onClick={() => setOpen(true)}>
        {text.geometry}
      </button>
    );
  const top = of(bench.topThread);
  const below = of(bench.bobbinThread);
  const size = texOf(below);
  const got = planFor(now, machine, top, below);
  const quilt = (field: string) => ({ kind: 'quilt', id, field });
  const bobbin = (field: string) => ({ kind: 'machine', id: state.machine, field });
  return (
    <Card title={text.geometry}>
      <p class="small-text">{text.geometryNote}</p>
      {'missing' in got ? (
        got.missing.map((m) => <p key={m}>{text.missing[m]}</p>)
      ) : (
        <>
          <h3>{text.answer}</h3>
          {text.rows(got.plan).map(([what, much]) => (
            <Row key={what} title={what} end={<b>{much}</b>} />
          ))}
          <p class="small-text">{text.range}</p>
          <p>{got.holds ? text.holds(got.holds.metres, got.holds.by) : text.noHolds}</p>
          {!top?.coneM && <p class="small-text">{text.noCone}</p>}
        </>
      )}
      <h3>{text.assumptions}</h3>
      <AmountField
        {...props}
        place={quilt('stitchesTenthsPerInch')}
        amount={{ per: 10, least: 1, most: 40 }}
        usual={usualStitchesPerInch}
        label={text.stitches}
      />
      <AmountField
        {...props}
        place={quilt('thicknessUm')}
        amount={{ size: true, per: 1000, least: 0.1, most: 50 }}
        usual={usualThicknessMm}
        label={text.thickness}
        hint={text.thicknessHint}
      />
      <AmountField
        {...props}
        place={quilt('wastePercent')}
        amount={{ per: 1, least: 0, most: 300 }}
        usual={usualWaste * 100}
        label={text.waste}
        hint={text.wasteHint}
        unit="%"
      />
      <AmountField
        {...props}
        place={quilt('lockPercent')}
        amount={{ per: 1, least: 0, most: 100 }}
        usual={usualLock * 100}
        label={text.lock}
        hint={text.lockHint}
        unit="%"
      />
      <h3>{text.bobbin}</h3>
      <AmountField
        {...props}
        place={bobbin('bobbinThreadMg')}
        amount={{ per: 1000, least: 0.1, most: 100 }}
        label={text.weighed}
        hint={text.weighedHint}
        unit="g"
      />
      {(
        [
          ['bobbinOuterUm', text.outer],
          ['bobbinCoreUm', text.core],
          ['bobbinWidthUm', text.between],
        ] as const
      ).map(([field, label]) => (
        <AmountField key={field} {...props} place={bobbin(field)} amount={bobbinSide} label={label} />
      ))}
      {(machine?.bobbinCoreUm ?? 0) >= (machine?.bobbinOuterUm ?? Infinity) && (
        <div class="field">
          <p role="alert">{text.coreTooWide}</p>
        </div>
      )}
      <AmountField
        {...props}
        place={bobbin('windingPercent')}
        amount={{ per: 1, least: 20, most: 90 }}
        usual={usualWinding * 100}
        label={text.winding}
        hint={text.windingHint}
        unit="%"
      />
      {below && (
        <Row
          title={`${text.thread}: ${threadOption(below).label}`}
          detail={text.threadSize(
            size && threadText.size(size.tex, size.worth),
            below.packingPercent ?? usualPacking * 100,
          )}
          href={`/book/threads/${below.id}`}
        />
      )}
    </Card>
  );
}
