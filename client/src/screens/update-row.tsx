/** A new build that waits. It is let in by a tap, where nobody is in the middle of something. */
import type { State } from '../state';
import { text } from '../text/frame';
import { Notice } from '../ui/card';

export const UpdateRow = ({ state }: { state: State }) =>
  state.update ? (
    <Notice text={state.updateHeld ? text.updateHeld : text.update}>
      <button type="button" class="small-act" onClick={state.update}>
        {text.apply}
      </button>
    </Notice>
  ) : null;
