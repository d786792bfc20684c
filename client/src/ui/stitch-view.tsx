import { rgbOf, xyzOf } from '../domain/colour';
import { type Shape, stitchScene, type View } from '../domain/stitch';
import type { StitchParams } from '../domain/stitch-params';
import './stitch-view.css';

export type StitchSide = 'top' | 'section' | 'back';

const sides: readonly StitchSide[] = ['top', 'section', 'back'];
const gap = 8;
/** Where the ways of all cords take more letters than this they have no glint, so that no view is over 4 kB. */
const longest = 600;

/**
 * A piece of sewing in up to three views, one under the other as they lie in the cloth: top face, cut, back face.
 * `label` says in words what the picture shows; '' when the words stand beside it. `topColour` and `bobbinColour` are
 * '#rrggbb'. `size` is its width in px: under 200 it is drawn bolder and without letters.
 */
export function StitchView(props: {
  params: StitchParams;
  label: string;
  size: number;
  topColour?: string;
  bobbinColour?: string;
  views?: readonly StitchSide[];
}) {
  const { params, label, size, topColour, bobbinColour, views = sides } = props;
  const scene = stitchScene(params, size);
  let y = 0;
  const placed = sides
    .filter((side) => views.includes(side))
    .map((side) => {
      const at = y;
      y += scene[side].height + gap;
      return { side, at, view: scene[side] };
    });
  const height = y - gap;
  const look = {
    '--thread-top': topColour,
    '--thread-bobbin': bobbinColour,
    '--on-top': topColour && markOn(topColour),
    '--on-bobbin': bobbinColour && markOn(bobbinColour),
  };
  return (
    <svg
      class={size < 200 ? 'stitch small' : 'stitch'}
      viewBox={`0 0 ${scene.width} ${height}`}
      width={size}
      height={Math.round((size * height) / scene.width)}
      style={topColour || bobbinColour ? look : undefined}
      role={label ? 'img' : undefined}
      aria-label={label || undefined}
      aria-hidden={label ? undefined : true}
    >
      {placed.map(({ side, at, view }) => (
        <Side key={side} view={view} at={at} width={scene.width} small={size < 200} />
      ))}
    </svg>
  );
}

/** What is seen best on a thread of this colour. Black and white are equally far from a luminance of 0.18 (WCAG contrast). */
const markOn = (colour: string) => `var(--code-${xyzOf(rgbOf(colour))[1] > 0.18 ? 'dark' : 'light'})`;

/** Its own svg, so that what runs over the edge is cut off there. */
function Side({ view, at, width, small }: { view: View; at: number; width: number; small: boolean }) {
  const ways = view.shapes.reduce((sum, s) => sum + (s.kind === 'cord' ? s.d.length : 0), 0);
  return (
    <svg y={at} width={width} height={view.height} aria-hidden="true">
      {view.shapes.map((shape) => draw(shape, !small && ways < longest))}
    </svg>
  );
}

function draw(shape: Shape, glint: boolean) {
  switch (shape.kind) {
    case 'area':
      return <path class={shape.paint} d={shape.d} />;
    case 'cord': // an edge that is heavier at the lower right, the bobbin thread's gaps, the glint on the top thread's turns
      return (
        <g class={shape.of}>
          <path class="edge" d={shape.d} stroke-width={Math.round(10 * shape.width + 24) / 10} />
          <path class="core" d={shape.d} stroke-width={shape.width} />
          {shape.of === 'bobbin' && <path class="gap" d={shape.d} stroke-width={shape.width} />}
          {glint && shape.of === 'top' && <path class="light" d={shape.d} stroke-width={shape.width} />}
        </g>
      );
    case 'stitches':
      return (
        <g class={shape.of}>
          <path class="body" d={shape.outline} />
          <path class="plies" d={shape.plies} />
        </g>
      );
    case 'specks':
      return <path class={`speck ${shape.of}`} d={shape.d} />;
    case 'fur':
      return <path class={`fur ${shape.of}`} d={shape.d} />;
    case 'text':
      return (
        <text class={`letter ${shape.of}`} x={shape.x} y={shape.y} font-size={shape.size}>
          {shape.text}
        </text>
      );
  }
}
