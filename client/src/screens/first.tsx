/** The first screen: three doors, no account. Until the store is open it is what the page itself says (index.html). */
import { useEffect, useState } from 'preact/hooks';
import { text } from '../text/first';
import { text as home } from '../text/home';
import { notSecure } from '../text/shell';
import { Card, Notice } from '../ui/card';
import { CopyDoor } from './copy-door';
import { HomeSteps } from './home-card';
import { JoinForm } from './join-form';
import type { ScreenProps } from './shell';

export function First(props: ScreenProps) {
  return (
    <main class="screen">
      <h1>{text.title}</h1>
      <p>{text.what}</p>
      {props.state.phase === 'new' && <Doors {...props} />}
    </main>
  );
}

function Doors({ state, send }: ScreenProps) {
  const [door, setDoor] = useState<'none' | 'code' | 'claim'>('none');
  const { brought } = state;
  useEffect(() => {
    if (brought) setDoor(brought.claim ? 'claim' : 'code');
  }, [brought]);
  return (
    <>
      {!isSecureContext && <Notice text={notSecure} />}
      {door !== 'none' ? (
        <JoinForm state={state} send={send} claim={door === 'claim'} onLeave={() => setDoor('none')} />
      ) : (
        <div class="doors">
          <button type="button" class="main-act" onClick={() => send({ type: 'start' })}>
            {text.start}
          </button>
          {state.home === 'by-hand' && (
            <Card>
              <p>{home.firstHere}</p>
              <HomeSteps />
            </Card>
          )}
          <p class="small-text">{text.startNote}</p>
          <button type="button" class="paired" onClick={() => setDoor('code')}>
            {text.code}
          </button>
          <CopyDoor state={state} send={send} label={text.copy} look="paired file-door" />
          <a class="button paired" href="/codes">
            {text.codes}
          </a>
        </div>
      )}
      <p class="small-text">{text.caution}</p>
    </>
  );
}
