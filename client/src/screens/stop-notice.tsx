/** "Do not run": stands on Frame on every phone until somebody lifts it with a reason. */
import { text } from '../text/frame';
import { stopWhy } from '../text/reasons';
import { Verdict } from '../ui/signs';
import type { ScreenProps } from './shell';

export function StopNotice({ state, send, stops }: ScreenProps & { stops: readonly string[] }) {
  const why = state.ctx.events.findLast((e) => stops.includes(e.id))?.reason;
  return (
    <div class="notice stop" role="alert">
      <Verdict kind="stop">{text.stopBy(why ? stopWhy(why) : text.stop)}</Verdict>
      <button type="button" onClick={() => send({ type: 'begin', task: 'lift' })}>
        {text.lift}
      </button>
    </div>
  );
}
