import './drop-strip.css';

/**
 * The paper strip a drop is read on: zero at the top, whole and half inches, the band shaded with hatching. `band` is in
 * tenths of an inch. With `trueSize` it is for the printer: 1 in = 1 in on paper, with a 2 in bar to check it by; on a
 * screen it is only a picture of the strip, for no phone knows its own size. `unit` is the word after the numbers.
 */
export function DropStrip(props: {
  label: string;
  unit: string;
  band?: { from: number; to: number };
  dropTenths?: number;
  trueSize?: boolean;
}) {
  const { label, unit, band, dropTenths, trueSize } = props;
  const inches = 10;
  const y = (tenths: number) => 4 + tenths * 3.2; // 32 units an inch
  const height = y(inches * 10) + 4 + (trueSize ? 48 : 0);
  const marks = Array.from({ length: inches * 2 + 1 }, (_, i) => `M2 ${y(i * 5)}h${i % 2 === 0 ? 22 : 12}`).join('');
  const hatching = band
    ? Array.from({ length: Math.ceil(((band.to - band.from) * 3.2) / 6) }, (_, i) => {
        const from = y(band.from) + i * 6;
        return `M44 ${from}L62 ${Math.max(y(band.from), from - 10)}`;
      }).join('')
    : '';
  return (
    <svg
      class="drop-strip"
      viewBox={`0 0 64 ${height}`}
      width={trueSize ? '2in' : undefined}
      height={trueSize ? `${height / 32}in` : undefined}
      role="img"
      aria-label={label}
    >
      <path class="sheet" d={`M1 1H63V${height - 1}H1Z`} />
      {band && <path class="band" d={`M44 ${y(band.from)}H62V${y(band.to)}H44Z`} />}
      <path class="fine" d={hatching} />
      <path d={marks} />
      {Array.from({ length: inches + 1 }, (_, i) => (
        <text key={String(i)} x="36" y={y(i * 10) + (i === 0 ? 9 : 4.5)}>
          {i}
        </text>
      ))}
      <text class="unit" x="53" y={y(5)}>
        {unit}
      </text>
      {dropTenths !== undefined && (
        <path class="read" d={`M44 ${y(dropTenths)}L63 ${y(dropTenths) - 8}V${y(dropTenths) + 8}Z`} />
      )}
      {trueSize && <path d={`M1 ${height - 24}H63M1 ${height - 30}V${height - 18}M63 ${height - 30}V${height - 18}`} />}
    </svg>
  );
}
