/** Before Start: what will be heard, felt and seen, each with its switch and a try; and how long the pauses are. */
import { useState } from 'preact/hooks';
import { canBuzz, localVoice } from '../../cues/senses';
import { type Gaps, gapBounds } from '../../domain/task';
import type { Settings } from '../../state';
import { text } from '../../text/cues';
import { Sheet } from '../../ui/sheet';
import { Stepper } from '../../ui/stepper';
import { Switch } from '../../ui/tiles';
import type { StepProps } from './parts';
import './cue-sheet.css';

type Cue = 'sound' | 'buzz' | 'flash' | 'voice';

export function CueSheet(props: Pick<StepProps, 'settings' | 'send' | 'tryCue'> & { line: string }) {
  const [open, setOpen] = useState(false);
  return (
    <>
      <button type="button" class="cue-line" aria-haspopup="dialog" onClick={() => setOpen(true)}>
        {props.line}
      </button>
      {open && (
        <Sheet title={text.title} close={text.close} onClose={() => setOpen(false)}>
          <CueSettings {...props} />
        </Sheet>
      )}
    </>
  );
}

/** The switches themselves. */
export function CueSettings({ settings, send, tryCue }: Pick<StepProps, 'settings' | 'send' | 'tryCue'>) {
  const set = (more: Partial<Settings>) => send({ type: 'settings', set: more });
  const [turned, setTurned] = useState(false);
  const notes: { readonly [c in Cue]?: string } = {
    buzz: canBuzz() ? undefined : text.noBuzz,
    voice: localVoice() ? undefined : text.noVoice,
  };
  const attempt = (cue: Cue) => {
    if (cue !== 'flash') return tryCue(cue);
    setTurned(true);
    setTimeout(() => setTurned(false), turnMs);
  };
  return (
    <div class="stack">
      {(['sound', 'buzz', 'flash', 'voice'] as const).map((cue) => (
        <div key={cue} class="cue">
          <Switch label={text[cue]} note={notes[cue]} on={settings[cue]} onSwitch={(on) => set({ [cue]: on })} />
          <button type="button" class="small-act" aria-label={text.tryOf(text[cue])} onClick={() => attempt(cue)}>
            {text.try}
          </button>
        </div>
      ))}
      {(Object.keys(gapBounds) as (keyof Gaps)[]).map((gap) => {
        const { least, most } = gapBounds[gap];
        const s = settings.gaps[gap];
        const to = (n: number) => set({ gaps: { ...settings.gaps, [gap]: n } });
        return (
          <Stepper
            key={gap}
            label={text.gaps[gap]}
            value={`${text.gaps[gap]}: ${s}`}
            less={{ label: text.less, onStep: () => to(s - 1), disabled: s <= least }}
            more={{ label: text.more, onStep: () => to(s + 1), disabled: s >= most }}
          />
        );
      })}
      {turned && <TurnedScreen />}
    </div>
  );
}

/** The screen turns its colours once and holds them; under 3 flashes a second by far (WCAG 2.3.1). */
export const turnMs = 1200;
export const TurnedScreen = () => <div class="turned-screen" aria-hidden="true" />;
