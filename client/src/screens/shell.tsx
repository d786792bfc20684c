/** Which screen stands where: the task layer, the four places, and what is there before the first machine. */
import type { App } from '../app';
import type { Send, State } from '../state';
import { usualName } from '../text/first';
import { text } from '../text/shell';
import { Notice } from '../ui/card';
import { useTop } from '../ui/use-top';
import { First } from './first';
import { Frame } from './frame';
import { later } from './later';

const opening = <p class="screen">{text.opening}</p>;
const Bench = later(() => import('./bench').then((m) => m.Bench), opening);
const Care = later(() => import('./care').then((m) => m.Care), opening);
const Codes = later(() => import('./people').then((m) => m.Codes), opening);
const Class = later(() => import('./class').then((m) => m.Class), opening);
const Ruler = later(() => import('./ruler').then((m) => m.Ruler), opening);
const Paper = later(() => import('./paper').then((m) => m.PaperScreen), opening);
const HandOver = later(() => import('./hand-over').then((m) => m.HandOver), opening);
const Book = later(() => import('./book').then((m) => m.Book), opening);
const Help = later(() => import('./help').then((m) => m.Help), opening);
const People = later(() => import('./people').then((m) => m.People), opening);
const Changes = later(() => import('./changes').then((m) => m.Changes), opening);
const TaskScreen = later(() => import('./task').then((m) => m.TaskScreen), opening);

export type ScreenProps = { state: State; send: Send };

export function Shell({ app }: { app: App }) {
  const state = app.state.value;
  useTop(state.path, true);
  return (
    <>
      {state.trouble && (
        <Notice kind="stop" text={text.trouble[state.trouble]}>
          {(state.trouble === 'full' || state.trouble === 'lost') && state.phase === 'ready' && (
            <button type="button" class="small-act" onClick={() => app.send({ type: 'try-again' })}>
              {text.tryAgain}
            </button>
          )}
        </Notice>
      )}
      {/* links inside the app never load a page anew */}
      <div onClickCapture={(e) => follow(e, app.send)}>{screen({ state, send: app.send })}</div>
    </>
  );
}

/** A studio was joined and is not read yet: nobody is asked for what may be in it. */
function Reading({ send }: ScreenProps) {
  return (
    <main class="screen">
      <h1>{text.reading}</h1>
      <p>{text.readingNote}</p>
      <div class="acts">
        <a class="button" href="/people">
          {text.howItStands}
        </a>
        <button type="button" onClick={() => send({ type: 'begin', task: 'first-run', with: { text: usualName } })}>
          {text.nameMeanwhile}
        </button>
      </div>
    </main>
  );
}

function screen(props: ScreenProps) {
  const { state } = props;
  const [, place = ''] = state.path.split('/');
  if (state.phase === 'broken') return <p class="screen">{text.broken}</p>;
  if (state.phase === 'new' && place === 'codes') return <Codes {...props} />;
  if (state.phase === 'starting' || state.phase === 'new') return <First {...props} />;
  if (state.task && (place === 'task' || state.machine === '')) return <TaskScreen {...props} />;
  if (state.reading && state.machine === '' && place !== 'people') return <Reading {...props} />;
  switch (place) {
    case 'changes':
      return <Changes {...props} />;
    case 'book':
      return <Book {...props} />;
    case 'people':
      return <People {...props} />;
    case 'help':
      return <Help {...props} />;
    case 'care':
      return <Care {...props} />;
    case 'bench':
      return <Bench {...props} />;
    case 'codes':
      return <Codes {...props} />;
    case 'class':
      return <Class {...props} />;
    case 'ruler':
      return <Ruler {...props} />;
    case 'paper':
      return <Paper {...props} />;
    case 'hand-over':
      return <HandOver {...props} />;
    default:
      return <Frame {...props} />;
  }
}

function follow(e: MouseEvent, send: Send): void {
  const a = (e.target as Element).closest('a');
  if (
    !a ||
    a.target ||
    a.hasAttribute('download') ||
    a.origin !== location.origin ||
    e.metaKey ||
    e.ctrlKey ||
    e.button !== 0
  )
    return;
  e.preventDefault();
  send({ type: 'go', path: a.pathname });
}
