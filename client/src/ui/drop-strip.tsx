import { mmPerInch } from '../domain/units';
import './drop-strip.css';

/**
 * The paper strip a drop is read on: zero at the top, whole and half inches, or with `metric` 50 and 10 mm; the band shaded
 * with hatching. `band` and `dropTenths` are in tenths of an inch. On a screen it is only a picture of the strip, for no phone
 * knows its own size, and `note` says so under it; paper-strip.tsx is the one for the printer. `unit` is the word after the
 * numbers.
 */
export function DropStrip(props: {
  label: string;
  note: readonly string[];
  unit: string;
  metric?: boolean;
  band?: { from: number; to: number };
  dropTenths?: number;
}) {
  const { label, note, unit, metric, band, dropTenths } = props;
  const inches = 10;
  const y = (tenths: number) => 4 + tenths * 3.2; // 32 units an inch
  const foot = y(inches * 10) + 10; // the last number whole, too
  const height = foot + 4 + 15 * note.length;
  const { step, every, of } = metric ? { step: 100 / mmPerInch, every: 5, of: 10 } : { step: 5, every: 2, of: 0.5 };
  const steps = Array.from({ length: Math.floor((inches * 10) / step) + 1 }, (_, i) => i);
  const marks = steps.map((i) => `M2 ${place(y(i * step))}h${i % every === 0 ? 22 : 12}`).join('');
  const hatching = band
    ? Array.from({ length: Math.ceil(((band.to - band.from) * 3.2) / 6) }, (_, i) => {
        const from = y(band.from) + i * 6;
        return `M44 ${from}L62 ${Math.max(y(band.from), from - 10)}`;
      }).join('')
    : '';
  return (
    <svg class="drop-strip" viewBox={`0 0 64 ${height}`} role="img" aria-label={label}>
      <path class="sheet" d={`M1 1H63V${foot}H1Z`} />
      {band && <path class="band" d={`M44 ${y(band.from)}H62V${y(band.to)}H44Z`} />}
      <path class="fine" d={hatching} />
      <path d={marks} />
      {steps
        .filter((i) => i % every === 0)
        .map((i) => (
          <text key={String(i)} x="36" y={place(y(i * step)) + (i === 0 ? 9 : 4.5)}>
            {i * of}
          </text>
        ))}
      <text class="unit" x="53" y={y(5)}>
        {unit}
      </text>
      {note.map((line, i) => (
        <text key={line} class="note" x="32" y={foot + 15 * (i + 1)}>
          {line}
        </text>
      ))}
      {dropTenths !== undefined && (
        <path class="read" d={`M44 ${y(dropTenths)}L63 ${y(dropTenths) - 8}V${y(dropTenths) + 8}Z`} />
      )}
    </svg>
  );
}

const place = (units: number) => Math.round(units * 100) / 100;
