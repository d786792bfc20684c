/** Stitches per inch: ten stitches by any ruler, or along a bar on this screen once it was matched with a card. */
import { useEffect, useRef, useState } from 'preact/hooks';
import {
  barFor,
  bounds,
  card,
  cardStep,
  checkMm,
  pxBounds,
  rulerState,
  type Screen,
  type StitchLength,
  stitchLength,
} from '../domain/ruler';
import { mmPerInch } from '../domain/units';
import { lengthWords, text } from '../text/ruler';
import { faultWords, length, number } from '../text/sizes';
import { Card } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { Verdict } from '../ui/signs';
import { readAmount } from './amount';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { useForm } from './typed';
import './ruler.css';

export function Ruler(props: ScreenProps) {
  return (
    <AtPlace state={props.state} place="frame">
      <h1>{text.title}</h1>
      <Verdict kind="caution">{text.caution}</Verdict>
      <p>{text.count}</p>
      <Columns left={<ByRuler {...props} />} right={<ByScreen {...props} />} />
      <a class="button" href="/">
        {text.back}
      </a>
    </AtPlace>
  );
}

function ByRuler(props: ScreenProps) {
  const { units } = props.state.settings;
  const [typed, setTyped, key] = useForm(props, 'ruler', 'ten');
  const [inside, setInside] = useState(false);
  const read = readAmount(typed, { size: true, per: 1000, ...bounds }, units);
  const fault = !inside && 'fault' in read && read.fault !== 'empty' ? read.fault : undefined;
  return (
    <Card title={text.byRuler}>
      <Field
        label={text.ten}
        hint={text.tenHint}
        value={typed}
        error={fault && faultWords(fault, length(bounds.least, units), length(bounds.most, units))}
        onInput={(t) => {
          setInside(true);
          setTyped(t);
        }}
        onLeave={() => setInside(false)}
      />
      {'kept' in read && <Result {...props} of={stitchLength(read.kept / 1000)} used={[key]} />}
    </Card>
  );
}

/** The figure, and the quilt it can be kept with. */
function Result({ state, send, of, used }: ScreenProps & { of: StitchLength | undefined; used?: readonly string[] }) {
  const id = state.ctx.bench.quilt;
  const quilt = state.ctx.quilts.find((q) => q.id === id);
  const now = quilt?.stitchesTenthsPerInch;
  if (!of) return <p role="alert">{text.out}</p>;
  const set = { stitchesTenthsPerInch: of.tenthsPerInch };
  return (
    <>
      <p role="status">
        <b>{lengthWords(of)}</b>
      </p>
      {!id || !quilt ? (
        <p class="small-text">{text.noQuilt}</p>
      ) : (
        <>
          {now !== undefined && <p>{text.kept(number(now / 10))}</p>}
          <button
            type="button"
            disabled={now === of.tenthsPerInch}
            onClick={() => send({ type: 'write', drafts: [{ kind: 'quilt', id, set }], ...(used ? { used } : {}) })}
          >
            {text.keep}
          </button>
        </>
      )}
    </>
  );
}

/** What the browser says of its screen now; told anew when the page is zoomed, turned, or moved to another one. */
function useScreen(): Screen {
  const read = (): Screen => ({
    width: screen.width,
    height: screen.height,
    ratio: devicePixelRatio,
    zoom: visualViewport?.scale ?? 1,
  });
  const [now, setNow] = useState(read);
  useEffect(() => {
    const look = () => setNow(read());
    const ratio = matchMedia(`(resolution: ${now.ratio}dppx)`); // dragged to another screen nothing is resized
    ratio.addEventListener('change', look);
    visualViewport?.addEventListener('resize', look);
    addEventListener('resize', look);
    return () => {
      ratio.removeEventListener('change', look);
      visualViewport?.removeEventListener('resize', look);
      removeEventListener('resize', look);
    };
  }, [now.ratio]);
  return now;
}

function ByScreen(props: ScreenProps) {
  const { settings } = props.state;
  const now = useScreen();
  const [matching, setMatching] = useState(false);
  const is = rulerState(settings.ruler, now);
  const match = matching || is === 'new' || is === 'check-again';
  return (
    <Card title={text.byScreen}>
      {is === 'zoomed' ? (
        <p role="alert">{text.zoomed}</p>
      ) : match ? (
        <>
          {is === 'check-again' && <p role="alert">{text.checkAgain}</p>}
          <Match {...props} now={now} onDone={() => setMatching(false)} />
        </>
      ) : (
        <>
          <Measure {...props} pxPerMm={settings.ruler?.pxPerMm ?? pxBounds.usual} />
          <button type="button" class="small-act" onClick={() => setMatching(true)}>
            {text.matchAgain}
          </button>
        </>
      )}
    </Card>
  );
}

/** What stands at both sides of a bar on a phone, in px: the edges of the screen and of its card. */
const besideBar = 72;

const Bar = ({ px, label, ...drag }: { px: number; label: string } & Partial<Drag>) => (
  <div class="measured" role="img" aria-label={label} style={{ width: `${px}px` }}>
    <Handle {...drag} />
  </div>
);

/** `onDrag` hears what `value` was when the finger came down, and how many px it has gone since, longer above 0. */
type Drag = { value: number; onDrag: (value: number, px: number) => void };

/** The end of what is measured, to drag; the buttons do the same for who can't. One finger at a time. */
function Handle({ value, onDrag }: Partial<Drag>) {
  const from = useRef<{ value: number; x: number }>(undefined);
  if (value === undefined || !onDrag) return null;
  const end = () => {
    from.current = undefined;
  };
  return (
    <span
      class="handle"
      onPointerDown={(e) => {
        if (!e.isPrimary) return;
        e.currentTarget.setPointerCapture(e.pointerId);
        from.current = { value, x: e.clientX };
      }}
      onPointerMove={(e) => {
        if (!from.current || !e.isPrimary) return;
        const right = e.clientX - from.current.x;
        onDrag(from.current.value, getComputedStyle(e.currentTarget).direction === 'rtl' ? -right : right);
      }}
      onPointerUp={end}
      onPointerCancel={end}
    />
  );
}

/** First the card, then a bar of another length held to a ruler; kept only if the person says that both fit. */
function Match({ state, send, now, onDone }: ScreenProps & { now: Screen; onDone: () => void }) {
  const [pxPerMm, setPx] = useState(state.settings.ruler?.pxPerMm ?? pxBounds.usual);
  const [second, setSecond] = useState(false);
  const bar = (scale: number) => barFor(scale, innerWidth - besideBar);
  const mm = bar(pxPerMm);
  const drag = (cardPx: (scale: number, px: number) => number): Drag => ({
    value: pxPerMm,
    onDrag: (scale, px) => setPx(cardStep(scale, Math.round(cardPx(scale, px)))),
  });
  const keep = () => {
    send({ type: 'settings', set: { ruler: { pxPerMm, screen: now } } });
    onDone();
  };
  if (second)
    return (
      <>
        <p>{text.second(checkMm)}</p>
        <Bar px={checkMm * pxPerMm} label={text.bar(checkMm)} />
        <button type="button" class="paired" onClick={keep}>
          {text.secondFits(checkMm)}
        </button>
        <button type="button" onClick={() => setSecond(false)}>
          {text.again}
        </button>
      </>
    );
  return (
    <>
      <p>{text.match}</p>
      <p class="small-text">{text.noCard}</p>
      <Moves less={text.narrower} more={text.wider} by={(px) => setPx(cardStep(pxPerMm, px))} />
      <button type="button" class="paired" onClick={() => setSecond(true)}>
        {text.fits}
      </button>
      <Bar px={mm * pxPerMm} label={text.bar(mm)} {...drag((scale, px) => (px * card.short) / bar(scale))} />
      <p class="small-text">{text.bar(mm)}</p>
      {card.short * pxPerMm <= innerWidth && (
        <div class="true-size">
          <div
            class="bank-card"
            role="img"
            aria-label={text.frame}
            style={{ width: `${card.short * pxPerMm}px`, height: `${card.long * pxPerMm}px` }}
          >
            <Handle {...drag((_, px) => 2 * px) /* it stands in the middle: both edges move */} />
          </div>
        </div>
      )}
    </>
  );
}

function Measure(props: ScreenProps & { pxPerMm: number }) {
  const { pxPerMm } = props;
  const [px, setPx] = useState(Math.round(mmPerInch * pxPerMm));
  const most = Math.floor(Math.min(bounds.most * pxPerMm, innerWidth - besideBar));
  const to = (n: number) => setPx(Math.max(Math.ceil(bounds.least * pxPerMm), Math.min(most, Math.round(n))));
  return (
    <>
      <p>{text.measure}</p>
      <Bar px={px} label={`${text.ten10}: ${number(px / pxPerMm)} mm`} value={px} onDrag={(was, by) => to(was + by)} />
      <Moves less={text.shorter} more={text.longer} by={(n) => to(px + n)} />
      <Result {...props} of={stitchLength(px / pxPerMm)} />
    </>
  );
}

/** One px is what an eye at a hand's length can tell; five to come near. */
function Moves(props: { less: (px: number) => string; more: (px: number) => string; by: (px: number) => void }) {
  return (
    <div class="moves">
      {[-5, -1, 1, 5].map((n) => (
        <button key={n} type="button" aria-label={n < 0 ? props.less(-n) : props.more(n)} onClick={() => props.by(n)}>
          {n < 0 ? `−${-n}` : `+${n}`}
        </button>
      ))}
    </div>
  );
}
