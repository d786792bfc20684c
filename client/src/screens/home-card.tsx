/** Why and how to put the app on the home screen: once there is something to keep, and not again for a while after "Not now". */
import { text } from '../text/home';
import { Card } from '../ui/card';
import { AddToHome, TapShare } from '../ui/home-drawings';
import type { ScreenProps } from './shell';

export function HomeCard({ state, send }: ScreenProps) {
  const byHand = state.home === 'by-hand';
  return (
    <Card title={text.title}>
      <p>{text.why}</p>
      {byHand && <HomeSteps />}
      {byHand && state.copies > 0 && <p>{text.copyFirst}</p>}
      <div class="acts">
        {!byHand && (
          <button type="button" class="small-act" onClick={() => send({ type: 'home', do: 'put' })}>
            {text.put}
          </button>
        )}
        {byHand && state.copies > 0 && (
          <button type="button" class="small-act" onClick={() => send({ type: 'save-copy' })}>
            {text.saveCopy}
          </button>
        )}
        <button type="button" class="small-act" onClick={() => send({ type: 'home', do: 'not-now' })}>
          {text.notNow}
        </button>
      </div>
    </Card>
  );
}

/** Two steps, drawn, for a browser where only the person can do it. */
export function HomeSteps() {
  return (
    <ol class="home-steps">
      <li>
        <TapShare />
        {text.share}
      </li>
      <li>
        <AddToHome />
        {text.add}
      </li>
    </ol>
  );
}
