/**
 * Every part and every stitch picture, only for looking; not built into the client. `npx vite client/tools/gallery`,
 * then /?page=step&theme=lamp (vite comes with vitest). All words here are samples.
 */
import { type ComponentChildren, render } from 'preact';
import { useState } from 'preact/hooks';
import '../../src/styles/tokens.css';
import '../../src/styles/base.css';
import { stitchOfSymptom } from '../../src/domain/stitch-symptoms';
import { BothKept } from '../../src/ui/both-kept';
import { Card, Digits, Notice, Row, UndoRow } from '../../src/ui/card';
import { ClockFace, ClockMarks } from '../../src/ui/clock-face';
import * as drawings from '../../src/ui/drawings';
import { DropStrip } from '../../src/ui/drop-strip';
import { Field } from '../../src/ui/field';
import { applyLook, type Look } from '../../src/ui/look';
import { PhotoView } from '../../src/ui/photo-view';
import { Qr } from '../../src/ui/qr';
import { Sheet } from '../../src/ui/sheet';
import { Verdict } from '../../src/ui/signs';
import { type Ray, StarPicker } from '../../src/ui/star-picker';
import { Stepper } from '../../src/ui/stepper';
import { StitchView } from '../../src/ui/stitch-view';
import { Place, StatusStrip, TabBar } from '../../src/ui/tab-bar';
import { TaskFrame } from '../../src/ui/task-frame';
import { Chips, Switch, TileRow } from '../../src/ui/tiles';

const query = new URLSearchParams(location.search);
const ask = (name: string) => query.get(name) ?? undefined;
const colour = (name: string) => (ask(name) ? `#${ask(name)}` : undefined);
const nothing = () => {};
const caution = 'Machine stopped and needle locked out, or power off.';
const leave = { label: 'Leave', onLeave: nothing };

const bar = (
  <TabBar
    label="Places"
    current="frame"
    tabs={[
      { id: 'frame', label: 'Frame', href: '#frame' },
      { id: 'changes', label: 'Changes', href: '#changes' },
      { id: 'book', label: 'Book', href: '#book' },
      { id: 'people', label: 'People & copies', href: '#people', needs: '1 needs you' },
    ]}
  />
);

function Stitches() {
  const size = Number(ask('size') ?? 96);
  return (
    <div style={{ display: 'flex', flexWrap: 'wrap', gap: '16px', padding: '8px' }}>
      {[...stitchOfSymptom].map(([number, params]) => (
        <figure key={number} style={{ width: `${size}px`, font: '12px/1.2 sans-serif' }}>
          <StitchView
            params={params}
            label={`Symptom ${number}`}
            size={size}
            topColour={colour('t')}
            bobbinColour={colour('b')}
          />
          <figcaption>{number}</figcaption>
        </figure>
      ))}
    </div>
  );
}

function Drawings() {
  return (
    <div
      style={{
        display: 'grid',
        gridTemplateColumns: 'repeat(auto-fit, minmax(240px, 1fr))',
        gap: '16px',
        padding: '8px',
      }}
    >
      <drawings.CaseOverHand label="case" />
      <drawings.CardUnderSpring label="card" />
      <drawings.FingerPadCheck label="pads" />
      <drawings.BobbinTurn label="turn" turns="clockwise" />
      <drawings.NeedleSet label="needle" />
      <drawings.PullBehindNeedle label="pull" />
      <drawings.TwoLines label="lines" />
      <drawings.StarDrawing label="star" />
      <drawings.HandsOff label="hands off" />
      <div style={{ height: '300px' }}>
        <DropStrip label="strip" note={['not true', 'size']} unit="in" band={{ from: 40, to: 60 }} dropTenths={50} />
      </div>
    </div>
  );
}

function Adjust() {
  const [by, setBy] = useState(5);
  return (
    <TaskFrame
      step="adjust"
      heading={by < 0 ? `Loosen ${-by} on the clock` : `Tighten ${by} on the clock`}
      caution={caution}
      leave={leave}
      main={{ label: 'Write it down', onPress: nothing }}
      picture={
        <ClockFace
          label="Bobbin case screw"
          name={`${by} minutes tighter`}
          facing="Screw facing you"
          was={0}
          now={by}
          step={5}
          onStep={(m) => setBy(by + m)}
          onHome={() => setBy(0)}
        />
      }
    >
      <Stepper
        label="Move"
        value={`Tighten ${by} on the clock`}
        hidden
        less={{ label: 'Loosen 5', onStep: () => setBy(by - 5) }}
        more={{ label: 'Tighten 5', onStep: () => setBy(by + 5) }}
        lessSmall={{ label: 'Loosen 2', onStep: () => setBy(by - 2) }}
        moreSmall={{ label: 'Tighten 2', onStep: () => setBy(by + 2) }}
      />
    </TaskFrame>
  );
}

const rays: Ray[] = [
  ...([0, 45, 90, 135, 180, 225, 270, 315] as const).map((id) => ({
    id,
    name: `${id} degrees`,
    mark: id === 90 ? '−1' : '',
  })),
  { id: 'circle-left', name: 'circle left', mark: '' },
  { id: 'circle-right', name: 'circle right', mark: '+2' },
];

function Drops() {
  const [said, say] = useState<Record<string, string>>({ one: 'falls' });
  return (
    <TaskFrame
      step="drops"
      heading="What did each drop do?"
      leave={leave}
      main={{ label: 'All three right', onPress: nothing }}
    >
      {['one', 'two', 'three'].map((drop) => (
        <TileRow
          key={drop}
          name={drop}
          legend={`Drop ${drop}`}
          size="chip"
          options={['Falls', 'Creeps', 'Nothing', 'Short', 'Right', 'Too far'].map((label) => ({
            id: label.toLowerCase(),
            label,
          }))}
          chosen={[said[drop] ?? '']}
          onChoose={(id, on) => say({ ...said, [drop]: on ? id : '' })}
        />
      ))}
    </TaskFrame>
  );
}

const stitch = (at: number) => {
  const params = stitchOfSymptom.get(at);
  return params && <StitchView params={params} label="" size={120} views={['top']} />;
};

function Faces() {
  const [chosen, choose] = useState<string[]>(['top']);
  return (
    <TaskFrame step="faces" heading="Which face shows it?" leave={leave} main={{ label: 'Next', onPress: nothing }}>
      <Chips label="Answers so far" chips={[{ id: 'a', label: 'Bobbin colour on top' }]} onOpen={nothing} />
      <TileRow
        name="face"
        legend="Face"
        hideLegend
        size="face"
        many
        options={[
          { id: 'top', label: 'Top', picture: stitch(2) },
          { id: 'back', label: 'Back', picture: stitch(5) },
          { id: 'none', label: 'None of these' },
          { id: 'cant-tell', label: 'Can’t tell' },
        ]}
        chosen={chosen}
        onChoose={(id, on) => choose(on ? [...chosen, id] : chosen.filter((c) => c !== id))}
      />
    </TaskFrame>
  );
}

function Parts() {
  const [text, setText] = useState('12,5');
  const [on, setOn] = useState(true);
  const [minute, pick] = useState<number | undefined>(10);
  return (
    <Place
      bar={bar}
      strip={
        <StatusStrip
          href="#people"
          parts={[
            { text: '3 waiting to go' },
            { text: 'Last heard from the studio 14:05' },
            { text: '1 needs you', needs: true },
          ]}
        />
      }
    >
      <h1>Window machine</h1>
      <Card
        title="On it now"
        act={
          <button type="button" class="small-act">
            Change
          </button>
        }
      >
        <Row title="40 polyester, teal" detail="Cone changed on Tuesday" end="2 days" />
        <Row title="60 polyester, sand" detail="Case 2, pre-wound" href="#case" end="40 min" />
        <Row title="Last drop" detail="5 inches, three alike" onOpen={nothing} end="09:40, Ada" />
      </Card>
      <button type="button" class="main-act">
        Drop test
      </button>
      <div class="acts">
        <button type="button">Good now</button>
        <button type="button">New bobbin</button>
        <button type="button" disabled>
          New needle
        </button>
        <button type="button" class="small-act quiet">
          I turned something
        </button>
      </div>
      <Verdict kind="good">Holds, and drops 5 inches</Verdict>
      <Verdict kind="stop">Do not run this machine</Verdict>
      <Verdict kind="caution">Look before you touch</Verdict>
      <UndoRow done="Written down: tighten 5." undo="I wrote it wrong" onUndo={nothing} />
      <Notice text="Only on this phone: 41 things since your last copy.">
        <button type="button">Save a copy</button>
      </Notice>
      <Notice kind="stop" text="Not saved on this phone.">
        <button type="button">Save a copy</button>
      </Notice>
      <Field
        label="Length of the drop"
        value={text}
        unit="in"
        kind="number"
        hint="To the nearest half inch"
        error="This is not a number we can use."
        onInput={setText}
      />
      <Field
        label="Note"
        value={'Net on the cone.\nSlow in the curls.'}
        kind="long"
        count="19,960 left"
        onInput={nothing}
      />
      <Field label="Code" value="7KMX-W2PQ" kind="code" onInput={nothing} />
      <Switch label="Sound" note="Low tone holds, high tone shakes" on={on} onSwitch={setOn} />
      <Switch label="Vibration" on={!on} onSwitch={nothing} />
      <Digits value="3" places={2} label="seconds" />
      <ClockMarks legend="Where does the mark stand?" minute={minute} nameOf={(m) => `${m} minutes`} onPick={pick} />
      <BothKept
        title="Written on two phones"
        differs="Differs"
        values={[
          { id: 'a', who: 'Ada', when: 'Tue 14:05', text: 'Net on the cone\nTop one hour looser\nSlow curls' },
          { id: 'b', who: 'Bea', when: 'Tue 13:50', text: 'Net on the cone\nTop as it was\nSlow curls' },
        ]}
        keepBoth={{ label: 'Keep both', onKeep: nothing }}
        keepOne={(v) => `Keep only ${v.who}’s`}
        onKeepOne={nothing}
      />
      <PhotoView alt="" width={4} height={3} missing="The picture is still on the other phone" caption="Sample, back" />
      <Qr text="http://192.168.1.20:8080/#join=7KMXW2PQ" label="Code to join" instead="7KMX-W2PQ" />
    </Place>
  );
}

const pages: Record<string, () => ComponentChildren> = {
  stitches: () => <Stitches />,
  drawings: () => <Drawings />,
  parts: () => <Parts />,
  adjust: () => <Adjust />,
  drops: () => <Drops />,
  faces: () => <Faces />,
  step: () => (
    <TaskFrame
      step="step"
      heading="Hold the thread close, the case at zero"
      caution={caution}
      done="Done: card under the spring"
      leave={leave}
      main={{ label: 'Start', onPress: nothing }}
      lowerHalf
      picture={<drawings.CaseOverHand label="Case hanging over a hand beside the strip" />}
    />
  ),
  running: () => (
    <TaskFrame
      step="running"
      heading="Hold still"
      caution={caution}
      stop={{ label: 'Stop', onStop: nothing }}
      picture={<Digits value="3" places={2} />}
    />
  ),
  star: () => (
    <TaskFrame
      step="star"
      heading="Tap only the lines that differ"
      leave={leave}
      main={{ label: 'All alike', onPress: nothing }}
    >
      <StarPicker label="The star" rays={rays} onCycle={nothing} />
    </TaskFrame>
  ),
  sheet: () => (
    <>
      <Parts />
      <Sheet title="Test first?" close="Close" onClose={nothing}>
        <p>The bobbin case was turned in this round and nothing was sewn since.</p>
        <div class="acts">
          <button type="button" class="paired">
            Test first
          </button>
          <button type="button" class="paired">
            Turn it anyway
          </button>
        </div>
      </Sheet>
    </>
  ),
};

applyLook(
  {
    theme: (ask('theme') as Look['theme']) ?? 'day',
    text: (ask('text') as Look['text']) ?? 'normal',
    hand: (ask('hand') as Look['hand']) ?? 'right',
  },
  document.documentElement,
);
render(pages[ask('page') ?? 'parts']?.(), document.body);
