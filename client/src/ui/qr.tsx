import { useEffect, useState } from 'preact/hooks';
import './qr.css';

/** The dark squares of a code as one path, a square a unit; `cells` comes with its quiet zone of four. */
export function squares(cells: readonly (readonly boolean[])[]): string {
  let d = '';
  cells.forEach((row, y) => {
    for (let x = 0; x < row.length; x += 1) {
      if (!row[x]) continue;
      let run = 1;
      while (row[x + run]) run += 1;
      d += `M${x} ${y}h${run}v1h${-run}z`;
      x += run;
    }
  });
  return d;
}

/** Draws a code, level M with its quiet zone of four, a square a dot of the canvas: its size on the screen is the style's. */
export async function drawCode(canvas: HTMLCanvasElement, text: string): Promise<void> {
  const { encodeQR } = await import('qr');
  const cells = encodeQR(text, 'raw', { ecc: 'medium', border: 4 });
  canvas.width = canvas.height = cells.length;
  const dots = new Uint32Array(cells.flat().map((dark) => (dark ? 0xff000000 : 0xffffffff))); // black is black either way round
  canvas.getContext('2d')?.putImageData(new ImageData(new Uint8ClampedArray(dots.buffer), cells.length), 0, 0);
}

type Code = { text: string; size: number; d: string };

/**
 * A QR code, level M. The maker is loaded only when a code is shown; until then, and when the text is too long for a
 * code, `instead` stands in its place: the same thing to type or read. On paper a square is `squareMm`, however many there are.
 */
export function Qr(props: { text: string; label: string; instead: string; squareMm?: number }) {
  const { text, label, instead, squareMm } = props;
  const [code, setCode] = useState<Code | undefined>();
  useEffect(() => {
    let wanted = true;
    import('qr')
      .then(({ encodeQR }) => {
        const cells = encodeQR(text, 'raw', { ecc: 'medium', border: 4 });
        if (wanted) setCode({ text, size: cells.length, d: squares(cells) });
      })
      .catch(() => wanted && setCode(undefined));
    return () => {
      wanted = false;
    };
  }, [text]);
  const look = squareMm ? 'qr on-paper' : 'qr';
  if (code?.text !== text) return <p class={look}>{instead}</p>;
  return (
    <svg
      class={look}
      viewBox={`0 0 ${code.size} ${code.size}`}
      width={squareMm && `${code.size * squareMm}mm`}
      height={squareMm && `${code.size * squareMm}mm`}
      role="img"
      aria-label={label}
      shape-rendering="crispEdges"
    >
      <path d={code.d} />
    </svg>
  );
}
