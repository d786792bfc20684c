/** The paper that sheets go on, remembered on this phone. */
import type { Paper } from '../domain/sheet';
import { text } from '../text/paper';
import { Choice } from './choice';
import type { ScreenProps } from './shell';

export function PaperChoice({ state, send }: ScreenProps) {
  return (
    <Choice
      name="paper"
      legend={text.paper}
      names={text.papers}
      chosen={[state.settings.paper]}
      onChoose={(paper) => send({ type: 'settings', set: { paper: paper as Paper } })}
    />
  );
}
