/** Joining with a code, typed inside the app: what will be shared is counted first. */
import { useEffect, useState } from 'preact/hooks';
import { cleanCode, fitsCode, inFours, longest } from '../code';
import { joinText, list } from '../read';
import { text as home } from '../text/home';
import { text } from '../text/people';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import { HomeSteps } from './home-card';
import type { ScreenProps } from './shell';

const counts = [
  ['machine', 'machine', 'machines'],
  ['note', 'note', 'notes'],
  ['recipe', 'recipe', 'recipes'],
  ['change', 'change', 'changes'],
  ['reading', 'reading', 'readings'],
] as const;

export function JoinForm({ state, send, onLeave, claim }: ScreenProps & { onLeave: () => void; claim?: boolean }) {
  const [copy, setCopy] = useState(!state.link.joined); // what one studio has is not given to the next without a word
  const [tried, setTried] = useState(false);
  useEffect(() => {
    if (state.phase === 'ready') send({ type: 'load', kinds: counts.map(([kind]) => kind) });
  }, [send, state.phase]);
  const typed = (place: (typeof joinText)[keyof typeof joinText]) =>
    [
      state.drafts.get(`${place.kind}/${place.id}/${place.field}`) ?? '',
      (words: string) => send({ type: 'typed', ...place, text: words }),
    ] as const;
  const [code, setCode] = typed(joinText.code);
  const [name, setName] = typed(joinText.name);
  const clean = cleanCode(code);
  const fits = fitsCode(clean);
  const parts = counts
    .map(([kind, one, many]) => [list(state.rows, kind).length, one, many] as const)
    .filter(([n]) => n > 0);
  const go = () => {
    setTried(true);
    if (!fits) return;
    send({ type: 'link', do: claim ? { do: 'claim', code: clean, name } : { do: 'join', code: clean, name, copy } });
  };
  return (
    <section class="card">
      <p>{claim ? text.claimNote : text.codeHint}</p>
      <Field
        label={text.code}
        kind="code"
        value={code}
        onInput={(t) => setCode(t.slice(0, longest))}
        error={tried && !fits ? text.badCode : undefined}
      />
      <Field label={text.name} value={name} onInput={(t) => setName(t.slice(0, 80))} />
      <p>
        {parts.length === 0 || (!claim && !copy)
          ? text.nothingToShare
          : text.willShare(parts.map(([n, one, many]) => text.counted(n, one, many)).join(', '))}
      </p>
      {!claim && parts.length > 0 && (
        <TileRow
          name="copy"
          legend={text.oldStays}
          size="chip"
          options={[
            { id: 'all', label: text.copyAll },
            { id: 'none', label: text.copyNone },
          ]}
          chosen={[copy ? 'all' : 'none']}
          onChoose={(id) => setCopy(id === 'all')}
        />
      )}
      {state.home === 'by-hand' && (
        <>
          <p>{home.firstHere}</p>
          <HomeSteps />
          {fits && (
            <>
              <p>{home.carry}</p>
              <p class="code">{inFours(clean)}</p>
            </>
          )}
        </>
      )}
      {state.link.trouble && <p role="alert">{state.link.trouble}</p>}
      {state.link.pendingCode && <p role="status">{text.waitsForSignal(inFours(state.link.pendingCode))}</p>}
      <button type="button" class="main-act" disabled={state.link.busy} onClick={go}>
        {state.link.busy ? text.trying : claim ? text.claimIt : text.joinIt}
      </button>
      <button type="button" class="small-act" onClick={onLeave}>
        {text.back}
      </button>
    </section>
  );
}
