/** A code read from paper: by the camera, from a photo of it, or typed. What it says is shown before anything is written. */
import { useEffect, useState } from 'preact/hooks';
import { type PaperRecipe, readCode } from '../../domain/paper-code';
import { casesOf, differsFromPaper, foundHere, keepPaper } from '../../domain/paper-recipe';
import { usable } from '../../domain/records';
import { readStation } from '../../domain/station-card';
import { find, isHidden, newId, plain } from '../../read';
import { text as bookText } from '../../text/book';
import { text as codesText } from '../../text/codes';
import { text as frameText } from '../../text/frame';
import { text } from '../../text/paper';
import { text as stationText } from '../../text/station';
import { Card, Notice, Row } from '../../ui/card';
import { Camera, readPicture } from '../../ui/code-reader';
import { Field } from '../../ui/field';
import { FileDoor } from '../file-door';
import { AtPlace } from '../place';
import type { ScreenProps } from '../shell';
import { useForm } from '../typed';
import { valueWords } from './recipe-words';
import { StationFound } from './station-found';

/** How each code of a run begins (sync/code-run.ts). */
const runStart = 'EVENPULL RUN ';

export function Code(props: ScreenProps) {
  const { state, send } = props;
  useEffect(() => send({ type: 'load', kinds: ['recipe'] }), [send, state.machine]);
  const [read, setRead] = useState<string>();
  const [trouble, setTrouble] = useState('');
  const [camera, setCamera] = useState(false);
  const [typed, setTyped] = useForm(props, 'code', 'typed');
  const take = (found: string | undefined) => {
    setCamera(false);
    setTrouble(found === undefined ? text.noCode : '');
    setRead(found);
  };
  const open = async (file: Blob) => take(await readPicture(file).catch(() => undefined));
  return (
    <AtPlace state={state} place="book">
      <h1>{text.scan}</h1>
      {camera && (
        <>
          <Camera
            label={text.cameraView}
            onText={take}
            onEnd={(why) => {
              setCamera(false);
              setTrouble(why === 'refused' ? text.cameraRefused : why === 'not-loaded' ? codesText.notLoaded : '');
            }}
          />
          <p>{text.cameraHow}</p>
        </>
      )}
      <button
        type="button"
        class="main-act"
        onClick={() => {
          setTrouble('');
          setCamera(!camera);
        }}
      >
        {camera ? text.cameraStop : text.camera}
      </button>
      <FileDoor label={text.photo} accept="image/*" onFile={(file) => void open(file)} />
      <Field label={text.typed} hint={text.typedHint} kind="code" value={typed} onInput={setTyped} />
      <button type="button" disabled={typed.trim() === ''} onClick={() => take(typed)}>
        {text.typedFind}
      </button>
      {trouble && <Notice kind="stop" text={trouble} />}
      {read !== undefined && <Found key={read} {...props} code={read} onLeave={() => setRead(undefined)} />}
      <a class="button" href="/book">
        {text.back}
      </a>
    </AtPlace>
  );
}

function Found(props: ScreenProps & { code: string; onLeave: () => void }) {
  if (props.code.startsWith(runStart)) return <Notice kind="stop" text={codesText.elsewhere} />;
  const station = readStation(props.code);
  if ('card' in station) return <StationFound {...props} card={station.card} />;
  if (station.fault !== 'not-ours') return <Notice kind="stop" text={stationText.fault(station.fault)} />;
  const read = readCode(props.code);
  if ('fault' in read) return <Notice kind="stop" text={text.fault(read.fault)} />;
  if ('bobbinCase' in read) return <FoundCase {...props} short={read.bobbinCase} />;
  return <FoundRecipe {...props} recipe={read.recipe} />;
}

function FoundCase({ state, send, short }: ScreenProps & { short: string }) {
  const cases = casesOf(state.ctx, short);
  if (cases.length === 0) return <Notice kind="stop" text={text.noSuchCase} />;
  return (
    <>
      {cases.length > 1 && <p>{text.whichCase}</p>}
      {cases.map((c) => (
        <Card key={c.id} title={text.caseIs(c.label)}>
          {c.id === state.ctx.bench.bobbinCase ? (
            <p>{text.caseHere}</p>
          ) : (
            <button
              type="button"
              class="paired wide"
              onClick={() =>
                send({ type: 'write', drafts: [{ kind: 'bench', id: state.machine, set: { bobbinCase: c.id } }] })
              }
            >
              {text.caseIn}
            </button>
          )}
          <a class="button" href="/changes">
            {text.caseChanges}
          </a>
        </Card>
      ))}
    </>
  );
}

function FoundRecipe(props: ScreenProps & { recipe: PaperRecipe; onLeave: () => void }) {
  const { state, send, recipe, onLeave } = props;
  const { ctx } = state;
  const { fields, machine, bobbinCase, topThread, bobbinThread } = recipe;
  const row = find(state.rows, 'recipe', recipe.id);
  const kept = row && !isHidden(row) ? usable('recipe', plain(row)).fields : undefined;
  const here = foundHere(recipe, ctx);
  const thread = (t: PaperRecipe['topThread']) =>
    t && frameText.threadName(String(t.number ?? ''), String(t.fibre ?? ''));
  const named: { readonly [field: string]: string | undefined } = {
    machine: machine?.name,
    bobbinCase: bobbinCase?.name,
    topThread: thread(topThread),
    bobbinThread: thread(bobbinThread),
  };
  const rows = Object.keys(bookText.fields).flatMap((f) => {
    const words = named[f] ?? (fields[f] === undefined ? undefined : valueWords(state, f, fields[f]));
    return words === undefined ? [] : [[f, words] as const];
  });
  const foreign = [here.machine ? undefined : machine?.name, here.bobbinCase ? undefined : bobbinCase?.name].filter(
    (n): n is string => n !== undefined,
  );
  const fresh = (['topThread', 'bobbinThread'] as const).filter((p) => recipe[p] && !here[p]);
  const differs = kept ? differsFromPaper(recipe, kept).map((f) => bookText.fields[f] ?? bookText.name) : [];
  const keep = () =>
    send({
      type: 'write',
      drafts: keepPaper(recipe, ctx, [newId(), newId()], text.origin(foreign)),
      goTo: `/book/recipe/${recipe.id}`,
    });
  return (
    <Card title={String(fields.name ?? bookText.recipe)}>
      {rows.map(([f, words]) => (
        <Row key={f} title={bookText.fields[f]} detail={words} />
      ))}
      {fields.text && <p class="said">{String(fields.text)}</p>}
      {kept ? (
        <>
          <p>{differs.length > 0 ? text.hereDiffers(differs.join(', ')) : text.here}</p>
          <a class="button" href={`/book/recipe/${recipe.id}`}>
            {text.open}
          </a>
        </>
      ) : (
        <>
          {foreign.length > 0 && <p>{text.foreign}</p>}
          {fresh.length > 0 && <p>{text.newThreads([...new Set(fresh.map((p) => named[p] ?? ''))])}</p>}
          <div class="acts">
            <button type="button" class="paired" onClick={keep}>
              {text.keep}
            </button>
            <button type="button" class="paired" onClick={onLeave}>
              {text.leave}
            </button>
          </div>
        </>
      )}
    </Card>
  );
}
