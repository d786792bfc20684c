/** The Book: recipes, notes, and search in all of it, with no signal. */
import { useEffect, useMemo, useState } from 'preact/hooks';
import { list, newId, shown } from '../read';
import { text } from '../text/book';
import { text as frameText } from '../text/frame';
import { text as shellText, when } from '../text/shell';
import { taskTitle } from '../text/task-title';
import { Card, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { OnlyAbout } from './book/about';
import { Note } from './book/note';
import { keepRecipe, Recipe } from './book/recipe';
import { aboutOf, firstLine, mixOf, nameOf, searchIn } from './book/search';
import { Tray } from './book/tray';
import { rootTask } from './frame';
import { later } from './later';
import { AtPlace } from './place';
import { Removed } from './removed';
import type { ScreenProps } from './shell';
import { Swatch } from './thread-form';

const kinds = ['note', 'recipe', 'recipeUse', 'photo', 'quilt', 'change', 'person', 'phone'] as const;

/** As many notes stand there without asking which (our choice). */
const few = 5;

const opening = <p class="screen">{shellText.opening}</p>;
const Bobbins = later(() => import('./book/bobbins').then((m) => m.Bobbins), opening);
const Code = later(() => import('./book/code').then((m) => m.Code), opening);
const Seen = later(() => import('./book/seen').then((m) => m.Seen), opening);
const Start = later(() => import('./book/start').then((m) => m.Start), opening);
const Weighed = later(() => import('./book/weighed').then((m) => m.Weighed), opening);
const Threads = later(() => import('./book/threads').then((m) => m.Threads), opening);

export function Book(props: ScreenProps) {
  const { state, send } = props;
  useEffect(() => send({ type: 'load', kinds }), [send, state.machine]);
  const [, , page, id] = state.path.split('/');
  if (page === 'note' && id) return <Note {...props} id={id} />;
  if (page === 'recipe' && id) return <Recipe {...props} id={id} />;
  if (page === 'bobbins') return <Bobbins {...props} />;
  if (page === 'start') return <Start {...props} />;
  if (page === 'threads') return <Threads {...props} />;
  if (page === 'tray') return <Tray {...props} />;
  if (page === 'code') return <Code {...props} />;
  if (page === 'weighed') return <Weighed {...props} />;
  if (page === 'seen') return <Seen {...props} />;
  return <Shelf {...props} />;
}

function Shelf(props: ScreenProps) {
  const { state, send } = props;
  const [query, setQuery] = useState('');
  const [only, setOnly] = useState('');
  const asked = query.trim() !== '';
  const search = useMemo(() => (asked ? searchIn(state.rows, state.ctx) : undefined), [state.rows, asked]);
  const found = search?.(query).slice(0, 50);
  const recipes = list(state.rows, 'recipe').toReversed();
  const notes = list(state.rows, 'note').toReversed();
  const [field = '', about] = only.split('/');
  const those = only === '' ? notes : notes.filter((n) => shown(n, field) === about);
  const open = () => {
    const id = newId();
    const { bench, zone } = state.ctx;
    const about = {
      machine: state.machine,
      ...(bench.bobbinCase ? { bobbinCase: bench.bobbinCase } : {}),
      ...(bench.quilt ? { quilt: bench.quilt } : {}),
      ...(bench.topThread ? { thread: bench.topThread } : {}),
    };
    send({
      type: 'write',
      drafts: [{ kind: 'note', id, set: { ...about, text: '', zone } }],
      goTo: `/book/note/${id}`,
    });
  };
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <Field label={text.search} kind="search" value={query} onInput={setQuery} />
      <Removed {...props} />
      {found ? (
        <Card>
          {found.length === 0 && <p>{text.nothing}</p>}
          {found.map((f) => (
            <Row
              key={f.id}
              title={
                <>
                  {f.colour && <Swatch colour={f.colour} />} {f.title || text.emptyNote}
                </>
              }
              detail={f.about}
              href={f.href}
            />
          ))}
        </Card>
      ) : (
        <Columns
          left={
            <>
              <Card title={text.recipes}>
                {recipes.length === 0 && <p>{text.noRecipes}</p>}
                {recipes.map((r) => (
                  <Row
                    key={r.id}
                    title={String(shown(r, 'name') || text.recipe)}
                    detail={mixOf(state.rows, r)}
                    end={when(r.t)}
                    href={`/book/recipe/${r.id}`}
                  />
                ))}
                <button type="button" class="small-act" onClick={() => keepRecipe(state, send)}>
                  {text.keepNow}
                </button>
              </Card>
              <Card title={text.before}>
                <Row title={text.threads} detail={text.threadsNote} href="/book/threads" />
                <Row title={text.start} detail={text.startNote} href="/book/start" />
                <Row title={text.bobbins} detail={text.bobbinsNote} href="/book/bobbins" />
              </Card>
              <Card title={text.teaching}>
                <Row title={text.class} detail={text.classNote} href="/class" />
              </Card>
              <Card title={text.paper}>
                <Row title={text.sheets} detail={text.sheetsNote} href="/paper" />
                <Row title={text.code} detail={text.codeNote} href="/book/code" />
              </Card>
            </>
          }
          right={
            <>
              <Card title={text.notes}>
                <button type="button" class="paired wide" onClick={open}>
                  {text.newNote}
                </button>
                {notes.length === 0 && <p>{text.noNotes}</p>}
                {notes.length > few && <OnlyAbout {...props} notes={notes} only={only} onOnly={setOnly} />}
                {those.map((n) => (
                  <Row
                    key={n.id}
                    title={firstLine(String(shown(n, 'text') ?? '')) || text.emptyNote}
                    detail={aboutOf(state.rows, n).join(', ')}
                    end={when(n.t)}
                    href={`/book/note/${n.id}`}
                  />
                ))}
              </Card>
              <Unfinished state={state} send={send} />
              <a class="button small-act" href="/book/seen">
                {text.seen}
              </a>
              <a class="button small-act" href="/book/weighed">
                {text.weighed}
              </a>
              <a class="button small-act" href="/book/tray">
                {text.tray}
              </a>
            </>
          }
        />
      )}
    </AtPlace>
  );
}

/** Tasks that are open or were left too long, and drop tests that were cut off. Nothing that was begun is lost. */
function Unfinished({ state, send }: ScreenProps) {
  const tasks = [...state.open, ...state.filed];
  const cut = state.ctx.readings.filter((r) => r.interrupted).toReversed();
  if (tasks.length + cut.length === 0) return null;
  return (
    <Card title={text.unfinished}>
      {tasks.map((t) => (
        <Row
          key={t.id}
          title={taskTitle[rootTask(t)]}
          detail={nameOf(state.rows, 'machine', t.machine)}
          end={when(t.touchedAt)}
          onOpen={() => send({ type: 'resume', id: t.id })}
        />
      ))}
      {cut.map((r) => (
        <Row
          key={r.id}
          title={text.cut}
          detail={frameText.reading(r.type, r.drops, r.answer, r.fill, state.settings.units)}
          end={when(r.at)}
        />
      ))}
    </Card>
  );
}
