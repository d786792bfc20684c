/** The drop strip at its true size, with the band of one bobbin case. */
import { beyondStrip, type Paper as Size, stripPieces } from '../../domain/sheet';
import { usualBand } from '../../domain/task/drop-verdict';
import { lengthIn } from '../../text/amount';
import { text } from '../../text/paper';
import { Paper } from '../../ui/paper';
import { PaperStrip } from '../../ui/paper-strip';
import type { ScreenProps } from '../shell';
import { bandHere, threadOf, threadWords } from './case-band';

type Case = ScreenProps['state']['ctx']['bobbinCases'][number];

export function Strip({ state, size, of }: Pick<ScreenProps, 'state'> & { size: Size; of: Case | undefined }) {
  const { ctx } = state;
  const band = of ? bandHere(ctx, of) : usualBand;
  const [from, to] = [lengthIn(band.from, ctx.units), lengthIn(band.to, ctx.units)];
  const pieces = stripPieces(size, band);
  const label = of && [of.label, threadOf(ctx, of) && threadWords(ctx, threadOf(ctx, of))].filter(Boolean).join(', ');
  const how = (
    <How
      words={[
        size === 'card' ? text.stripJoin : '',
        ...text.stripHow,
        text.stripBand(from, to, band !== usualBand),
        beyondStrip(band) ? text.beyond(to) : '',
        text.stripSource,
      ]}
    />
  );
  return (
    <Paper
      size={size}
      title={text.strip(label ?? '')}
      bar={text.bar}
      after={size === 'card' && <div class="other-side">{how}</div>}
    >
      <div class="side">
        {pieces.map((piece) => (
          <PaperStrip
            key={piece.from}
            piece={piece}
            label={text.stripLabel(from, to)}
            units={text.stripUnits}
            zero={piece.from === 0 ? text.zero : ''}
          />
        ))}
        {size !== 'card' && <div>{how}</div>}
      </div>
    </Paper>
  );
}

function How({ words }: { words: readonly string[] }) {
  return (
    <ul>
      {words.filter(Boolean).map((w) => (
        <li key={w}>{w}</li>
      ))}
    </ul>
  );
}
