/** Sheets for the printer: which one, on which paper, and what it will look like. */
import type { ComponentChildren } from 'preact';
import { caseOf, casesHere } from '../domain/bench';
import { type Paper as Size, star } from '../domain/sheet';
import { text } from '../text/paper';
import { Card, Row } from '../ui/card';
import { Paper } from '../ui/paper';
import { PaperStar } from '../ui/paper-star';
import { PrintButton } from '../ui/print-button';
import { TileRow } from '../ui/tiles';
import { later } from './later';
import { BenchCard } from './paper/bench-card';
import { ClassSheet } from './paper/class-sheet';
import { Labels } from './paper/labels';
import { Strip } from './paper/strip';
import { PaperChoice } from './paper-choice';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';

/** Its words are those of many records; the other sheets do without them. */
const RecipeCard = later(() => import('./paper/recipe-card').then((m) => m.RecipeCard), null);

export function PaperScreen(props: ScreenProps) {
  const { state } = props;
  const [, , sheet = '', id = ''] = state.path.split('/');
  const size = state.settings.paper;
  switch (sheet) {
    case 'bench':
      return (
        <Printed {...props} title={text.sheets.bench}>
          <BenchCard state={state} size={size} />
        </Printed>
      );
    case 'recipe':
      return (
        <Printed {...props} title={text.printCard} back={`/book/recipe/${id}`}>
          <RecipeCard {...props} size={size} id={id} />
        </Printed>
      );
    case 'labels':
      return (
        <Printed {...props} title={text.sheets.labels}>
          <Labels state={state} size={size} />
        </Printed>
      );
    case 'strip':
      return <StripSheet {...props} id={id} size={size} />;
    case 'star':
      return (
        <Printed {...props} title={text.sheets.star}>
          <Star size={size} />
        </Printed>
      );
    case 'class':
      return (
        <Printed {...props} title={text.sheets.class}>
          <ClassSheet size={size} />
        </Printed>
      );
    default:
      return <Sheets {...props} />;
  }
}

const sheets = ['bench', 'labels', 'strip', 'star', 'class'] as const;

function Sheets({ state }: ScreenProps) {
  return (
    <AtPlace state={state} place="book">
      <h1>{text.title}</h1>
      <Card>
        {sheets.map((s) => (
          <Row key={s} title={text.sheets[s]} detail={text.sheetNotes[s]} href={`/paper/${s}`} />
        ))}
        <Row title={text.scan} detail={text.scanNote} href="/book/code" />
      </Card>
      <p>{text.recipeCards}</p>
      <a class="button" href="/book">
        {text.back}
      </a>
    </AtPlace>
  );
}

/** One sheet under what is chosen for it; nothing but the sheet is printed. */
function Printed(
  props: ScreenProps & { title: string; back?: string; choice?: ComponentChildren; children: ComponentChildren },
) {
  const { state, title, back = '/paper', choice, children } = props;
  return (
    <AtPlace state={state} place="book">
      <h1>{title}</h1>
      <PaperChoice {...props} />
      {choice}
      <PrintButton label={text.print} />
      <p class="small-text">{text.intro}</p>
      {children}
      <a class="button" href={back}>
        {back === '/paper' ? text.allSheets : text.backToIt}
      </a>
    </AtPlace>
  );
}

function StripSheet(props: ScreenProps & { id: string; size: Size }) {
  const { state, send, id, size } = props;
  const cases = casesHere(state.ctx);
  const of = cases.find((c) => c.id === id) ?? caseOf(state.ctx);
  const choice = cases.length > 1 && (
    <TileRow
      name="case"
      legend={text.stripCase}
      size="chip"
      options={cases.map((c) => ({ id: c.id, label: c.label }))}
      chosen={of ? [of.id] : []}
      onChoose={(chosen) => send({ type: 'go', path: `/paper/strip/${chosen}` })}
    />
  );
  return (
    <Printed {...props} title={text.sheets.strip} choice={choice}>
      <Strip state={state} size={size} of={of} />
    </Printed>
  );
}

function Star({ size }: { size: Size }) {
  const { ray, circle } = star[size];
  return (
    <Paper size={size} title={text.star} bar={text.bar}>
      <PaperStar ray={ray} circle={circle} label={text.starLabel} names={text.starNames} ways={text.circles} />
      <p>{text.starHow(ray)}</p>
    </Paper>
  );
}
