/** A whole studio from phone to phone with no network: shown as a run of codes here, read by the camera there. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { CodesAct, CodesOut } from '../state';
import { pace, text } from '../text/codes';
import { text as cues } from '../text/cues';
import { text as paperText } from '../text/paper';
import { Notice } from '../ui/card';
import { Camera, type CameraEnd } from '../ui/code-reader';
import { drawCode } from '../ui/qr';
import { Sure } from '../ui/sure';
import { CopySeen } from './copy-door';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { useScreenOn } from './task/use-steady';
import './codes.css';

export function Codes(props: ScreenProps) {
  const { state } = props;
  if (state.phase === 'new')
    return (
      <main class="screen">
        <Read {...props} />
        <a class="button" href="/">
          {text.first}
        </a>
      </main>
    );
  return (
    <AtPlace state={state} place="people">
      {state.path.endsWith('/show') ? <Show {...props} /> : <Read {...props} />}
      <a class="button" href="/people">
        {text.back}
      </a>
    </AtPlace>
  );
}

const calm = () => matchMedia('(prefers-reduced-motion: reduce)').matches;

function Show({ state, send }: ScreenProps) {
  useEffect(() => send({ type: 'codes-out' }), [send]);
  const [on, setOn] = useState(false);
  const { codesOut: out } = state;
  if (out && on) return <Run out={out} onStop={() => setOn(false)} />;
  return (
    <>
      <h1>{text.showTitle}</h1>
      {!out && <p role="status">{text.making}</p>}
      {out && out.codes.length > 0 && (
        <>
          <p>{text.codes(out.count, calm())}</p>
          <p>{text.showHow}</p>
          <p>{text.bright}</p>
          <Notice text={text.flicker(calm())} />
          <button type="button" class="main-act" onClick={() => setOn(true)}>
            {text.start}
          </button>
          {out.stays && <p class="small-text">{text.changed}</p>}
        </>
      )}
      {out && out.codes.length === 0 && out.count > 0 && <Notice text={text.tooMany} />}
      {out?.count === 0 && (
        <Notice text={text.notMade}>
          <button type="button" onClick={() => send({ type: 'codes-out' })}>
            {text.makeAgain}
          </button>
        </Notice>
      )}
      <button type="button" class="paired" onClick={() => send({ type: 'save-copy' })}>
        {text.file}
      </button>
    </>
  );
}

function Run({ out, onStop }: { out: CodesOut; onStop: () => void }) {
  const [nth, setNth] = useState(0);
  const [going, setGoing] = useState(true);
  const [drawn, setDrawn] = useState(true);
  const canvas = useRef<HTMLCanvasElement>(null);
  const awake = useScreenOn();
  useEffect(() => {
    if (!going) return;
    const timer = setInterval(() => setNth((n) => n + 1), 1000 / pace(calm()));
    return () => clearInterval(timer);
  }, [going]);
  const index = out.round[nth % out.round.length] ?? 0;
  useEffect(() => {
    if (canvas.current)
      drawCode(canvas.current, out.codes[index] ?? '').then(
        () => setDrawn(true),
        () => setDrawn(false),
      );
  }, [out, index]);
  return (
    <>
      <h1 class="unseen">{text.showTitle}</h1>
      {!drawn && <Notice kind="stop" text={text.notLoaded} />}
      <div class="code-run">
        <canvas ref={canvas} role="img" aria-label={text.label} />
      </div>
      <p>{`${text.part(index + 1, out.count)}, ${cues.screen[awake ? 'on' : 'may']}`}</p>
      <div class="acts">
        <button type="button" class="paired" onClick={() => setGoing(!going)}>
          {going ? text.pause : text.goOn}
        </button>
        <button type="button" class="paired" onClick={onStop}>
          {text.stop}
        </button>
      </div>
    </>
  );
}

function Read({ state, send }: ScreenProps) {
  const [camera, setCamera] = useState(false);
  const [ended, setEnded] = useState<CameraEnd>();
  const tell = (act: CodesAct) => send({ type: 'codes-in', do: act });
  useEffect(() => send({ type: 'codes-in', do: { do: 'take-up' } }), [send]);
  const { run, missing = [], fault, file, came } = state.codesIn ?? {};
  useEffect(() => {
    if (file) send({ type: 'look-at-copy', file });
  }, [send, file]);
  const all = run?.codes.length ?? 0;
  const home = state.phase === 'new' ? '/' : '/people';
  const reading = !file && !came && fault !== 'not-whole';
  const look = (on: boolean, why?: CameraEnd) => {
    if (came) tell({ do: 'drop' });
    setEnded(why);
    setCamera(on);
  };
  return (
    <>
      <h1>{text.readTitle}</h1>
      {reading && camera && <Reading tell={tell} onEnd={(why) => look(false, why)} />}
      {run && (
        <label class="field">
          <span>{text.progress(all - missing.length, all)}</span>
          <progress value={all - missing.length} max={all} />
          <span>{text.missing(missing)}</span>
        </label>
      )}
      {ended === 'refused' && <Notice kind="stop" text={text.cameraRefused} />}
      {ended === 'not-loaded' && <Notice kind="stop" text={text.notLoaded} />}
      {fault && <Notice kind="stop" text={text.runFault(fault)} />}
      {file && <CopySeen {...{ state, send, file }} onLeave={() => send({ type: 'go', path: home })} />}
      {came && <p role="status">{came}</p>}
      {reading && !camera && (
        <>
          <p>{text.readHow}</p>
          <Notice text={text.flicker()} />
        </>
      )}
      {(reading || came) && (
        <button
          type="button"
          class={reading && !camera ? 'main-act' : 'paired'}
          onClick={() => look(came !== undefined || !camera)}
        >
          {came ? text.again : camera ? text.stop : run ? text.cameraOn : text.camera}
        </button>
      )}
      {run && (
        <Sure
          label={text.drop}
          question={text.dropSure}
          yes={text.dropYes}
          no={text.dropNo}
          onYes={() => {
            look(false);
            tell({ do: 'drop' });
          }}
        />
      )}
    </>
  );
}

function Reading(props: { tell: (act: CodesAct) => void; onEnd: (why: CameraEnd) => void }) {
  useScreenOn();
  return (
    <>
      <Camera
        run
        label={paperText.cameraView}
        onText={(found) => props.tell({ do: 'read', text: found })}
        onEnd={props.onEnd}
      />
      <p>{text.keep}</p>
    </>
  );
}
