/** Joining with a code, typed inside the app: what will be shared is counted first. */
import { useEffect, useState } from 'preact/hooks';
import { list } from '../read';
import { text } from '../text/people';
import { Field } from '../ui/field';
import { TileRow } from '../ui/tiles';
import type { ScreenProps } from './shell';

const letters = /^[23456789ABCDEFGHJKMNPQRSTVWXYZ]{8}$/;

/** What the address brought behind its #: a code to join, or one to claim the server with. */
export function codeInAddress(hash: string): { readonly code: string; readonly claim: boolean } | undefined {
  const [, claim, code] = /^#(claim=)?(.+)$/.exec(hash) ?? [];
  return code ? { code: cleanCode(code), claim: claim !== undefined } : undefined;
}

/** A code as it is sent: eight characters, upper case, no spaces or dashes. */
export const cleanCode = (typed: string): string => typed.toUpperCase().replace(/[\s-]/g, '');

/** A code as it is shown: two groups of four. */
export const inFours = (code: string): string => `${cleanCode(code).slice(0, 4)} ${cleanCode(code).slice(4)}`;

const counts = [
  ['machine', 'machine', 'machines'],
  ['note', 'note', 'notes'],
  ['recipe', 'recipe', 'recipes'],
  ['change', 'change', 'changes'],
  ['reading', 'reading', 'readings'],
] as const;

export function JoinForm({ state, send, onLeave, claim }: ScreenProps & { onLeave: () => void; claim?: boolean }) {
  const [code, setCode] = useState(() => codeInAddress(location.hash)?.code ?? '');
  const [name, setName] = useState('');
  const [copy, setCopy] = useState(true);
  const [tried, setTried] = useState(false);
  useEffect(() => {
    if (location.hash) history.replaceState(null, '', location.pathname); // the code does not stay in the address
    if (state.phase === 'ready') send({ type: 'load', kinds: counts.map(([kind]) => kind) });
  }, [send, state.phase]);
  const clean = cleanCode(code);
  const fits = letters.test(clean);
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
        onInput={(t) => setCode(t.slice(0, 20))}
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
