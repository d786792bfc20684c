/**
 * Line drawings of the acts at the bench, one pen and one light for all: ink lines, the two threads in their colours and
 * line styles, an arrow for what moves. Each is 240 x 160 units; `label` says in words what it shows.
 */
import type { ComponentChildren } from 'preact';
import './drawings.css';

export type DrawingProps = { label: string };

function Drawing({ label, children }: DrawingProps & { children: ComponentChildren }) {
  return (
    <svg class="drawing" viewBox="0 0 240 160" role="img" aria-label={label}>
      {children}
    </svg>
  );
}

/** A tick, for what is as it should be. */
export const tick = (
  <svg class="sign" viewBox="0 0 32 32" aria-hidden="true">
    <path d="M7 17l7 7L26 9" />
  </svg>
);

const Top = ({ d }: { d: string }) => (
  <g class="thread top">
    <path class="edge" d={d} />
    <path d={d} />
  </g>
);
const Bobbin = ({ d }: { d: string }) => (
  <g class="thread bobbin">
    <path class="edge" d={d} />
    <path d={d} />
    <path class="gap" d={d} />
  </g>
);

/** Thread wound on a bobbin, seen from its end: turn upon turn. */
const Wound = () => (
  <>
    <circle class="wound" r="15" />
    <path class="turns" d="M0 -19A19 19 0 1 1 -1 -19M0 -15A15 15 0 1 0 1 -15M0 -11A11 11 0 1 1 -1 -11" />
  </>
);

/** A bobbin case seen from its open side: rim, wound thread, hub, and the spring with its screw at the right. */
function Case({ x, y, r = 26 }: { x: number; y: number; r?: number }) {
  return (
    <g transform={`translate(${x} ${y}) scale(${r / 26})`}>
      <circle class="plate" r="26" />
      <Wound />
      <circle class="plate" r="7" />
      <path class="spring" d="M8 -27.5A28.5 28.5 0 0 1 27 9" />
      <circle class="plate" cx="24" cy="-15" r="5" />
      <path d="M21.5 -17.5l5 5" />
    </g>
  );
}

/** Thumb and finger holding something at (x, y), from the upper left. */
const Pinch = ({ x, y }: { x: number; y: number }) => (
  <g transform={`translate(${x} ${y})`}>
    <path class="plate" d="M-66 -20C-44 -22 -22 -18 -4 -8C4 -3 3 5 -5 4C-22 0 -40 -2 -64 2" />
    <path class="plate" d="M-66 26C-44 26 -26 20 -6 9C2 3 0 -2 -7 -1C-20 3 -30 4 -40 4" />
  </g>
);

/** Case hanging by its thread over the other hand, its lower edge at the zero of the strip. */
export function CaseOverHand({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path
        class="plate"
        d="M20 150C34 136 52 132 72 136L112 138C122 138 122 146 112 147L86 148M112 138L142 130C152 128 154 136 146 139L116 147C140 144 150 142 156 144C160 148 158 152 150 153C120 160 70 160 46 158"
      />
      <Bobbin d="M106 16V40" />
      <Case x={100} y={62} r={22} />
      <Pinch x={106} y={18} />
      <path class="plate" d="M184 76H214V154H184Z" />
      <path class="fill" d="M184 128H214V146H184Z" />
      <path d="M184 85H192M184 94H196M184 103H192M184 111H196M184 120H192M184 128H214M184 137H192M184 146H214" />
      <path class="fine dashed" d="M100 84H184" />
      <path class="arrow" d="M136 92V122M130 115L136 123L142 115" />
    </Drawing>
  );
}

/** Corner of a card slid under the tension spring; the screw is left alone. */
export function CardUnderSpring({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path class="plate" d="M52 150V70C52 60 60 54 70 54H150C160 54 168 60 168 70V150" />
      <path class="fine" d="M52 132H168" />
      <path class="plate" d="M232 8L240 104L156 116L128 86L150 18Z" />
      <path class="fine" d="M170 28L214 22" />
      <path class="plate" d="M76 76H150C156 76 160 80 160 86V92C160 98 156 102 150 102H76Z" />
      <circle class="plate" cx="92" cy="89" r="9" />
      <path d="M86 83L98 95" />
      <path class="arrow" d="M212 54L180 70M188 60L179 70L192 72" />
    </Drawing>
  );
}

/** Case lying on the finger pads, its thread drawn straight up: it should tip up and stay. */
export function FingerPadCheck({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path
        class="plate"
        d="M14 118C50 112 110 112 150 114C164 115 164 130 150 131H112C170 128 172 146 156 147H104C150 146 150 158 138 160H14"
      />
      <path class="fine" d="M150 114C144 120 144 126 150 131" />
      <Bobbin d="M120 22V72" />
      <g transform="rotate(-26 82 112)">
        <path class="plate" d="M82 80H132V112H82Z" />
        <path class="spring" d="M92 78H126" />
        <circle class="plate" cx="98" cy="90" r="4.5" />
      </g>
      <path class="fine dashed" d="M78 112V82H130V112" />
      <Pinch x={120} y={20} />
      <path class="arrow" d="M146 66V30M139 39L146 29L153 39" />
    </Drawing>
  );
}

/** Pull the tail and see which way the bobbin turns; `turns` as the machine's manual gives it, seen from the open side. */
export function BobbinTurn({ label, turns }: DrawingProps & { turns: 'clockwise' | 'counter' }) {
  return (
    <Drawing label={label}>
      <g transform={turns === 'counter' ? 'translate(240 0) scale(-1 1)' : undefined}>
        <g transform="translate(104 84) scale(2.1)">
          <circle class="plate" r="26" />
          <Wound />
          <circle class="plate" r="6" />
        </g>
        <path class="plate" d="M150 44L164 34L170 44L158 56Z" />
        <Bobbin d="M104 42C128 42 146 54 158 48C168 40 190 28 226 20" />
        <path class="arrow" d="M200 40L228 34M218 28L229 34L222 43" />
        <path class="arrow" d="M40 84A64 64 0 0 1 72 28.6M61 28.3L72 28.6L66.8 38.3" />
      </g>
    </Drawing>
  );
}

/** Needle pushed up to its stop, long groove toward you, scarf toward the hook. */
export function NeedleSet({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path class="plate" d="M40 4H96V62H40Z" />
      <path class="fine dashed" d="M58 22V62M78 22V62M58 22H78" />
      <path class="plate" d="M60 24H76V78L72 86V138L68 156L64 138V86L60 78Z" />
      <path class="fine" d="M68 84V128" />
      <ellipse class="hole" cx="68" cy="136" rx="1.6" ry="5" />
      <path class="plate" d="M96 40H114V54H96Z" />
      <path d="M105 42V52" />
      <path class="arrow" d="M20 82V30M13 39L20 29L27 39" />
      <path class="plate" d="M150 4H172V78L166 88V116C160 120 160 128 164 132V138L161 156L156 138V86L150 78Z" />
      <path class="plate" d="M184 118C204 104 226 112 232 132L222 138C214 124 202 122 186 126Z" />
      <path class="fine dashed" d="M170 124H184" />
    </Drawing>
  );
}

/** Foot down, thread drawn back behind the needle and away from you. */
export function PullBehindNeedle({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path class="plate" d="M8 120H232V134H8Z" />
      <path class="plate" d="M88 100H136C142 100 142 112 136 112H88C82 112 82 100 88 100Z" />
      <path class="plate" d="M96 8H126V36H96ZM107 36H115V100H107ZM108 100H114V116L111 124L108 116Z" />
      <Top d="M84 6C92 40 104 70 109 108C122 116 160 98 196 72" />
      <g transform="translate(240 0) scale(-1 1)">
        <Pinch x={44} y={72} />
      </g>
      <path class="arrow" d="M148 66L186 44M175 44L187 43L182 54" />
    </Drawing>
  );
}

/** Two lines sewn beside one another, one away from you and one toward you; you stand at the lower edge. */
export function TwoLines({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path class="cloth" d="M20 8H220V136H20Z" />
      <Top d="M88 120V98M88 92V70M88 64V42" />
      <Top d="M152 42V64M152 70V92M152 98V120" />
      <path class="arrow" d="M88 34V18M80 28L88 17L96 28M152 16V32M144 22L152 33L160 22" />
      <You />
    </Drawing>
  );
}

/** The star: eight lines out from one point, and a circle each way. */
export function StarDrawing({ label }: DrawingProps) {
  const ray = (turn: number) => {
    const [s, c] = [Math.sin((turn * Math.PI) / 180), Math.cos((turn * Math.PI) / 180)];
    const p = (r: number) => `${(92 + r * s).toFixed(1)} ${(70 - r * c).toFixed(1)}`;
    return `M${p(10)}L${p(27)}M${p(33)}L${p(54)}`;
  };
  return (
    <Drawing label={label}>
      <path class="cloth" d="M8 4H232V140H8Z" />
      <Top d={[0, 45, 90, 135, 180, 225, 270, 315].map(ray).join('')} />
      <Top d="M196 18A18 18 0 1 0 197 18M196 86A18 18 0 1 0 197 86" />
      <path class="arrow" d="M188 12L198 18L188 25M206 80L196 86L206 93" />
      <You />
    </Drawing>
  );
}

/** Where you stand: two hands on the handles at the lower edge. */
const You = () => <path d="M92 158C92 146 100 146 104 150M148 158C148 146 140 146 136 150M104 150H136" />;

/** Hands off while it can stitch: a switch at off beside the triangle on hatching. */
export function HandsOff({ label }: DrawingProps) {
  return (
    <Drawing label={label}>
      <path
        class="fine"
        d="M8 40 40 8M8 72 72 8M8 104 104 8M8 136 132 12M24 152 148 28M56 152 148 60M88 152 148 92M120 152 148 124"
      />
      <path class="plate heavy" d="M78 22L142 138H14Z" />
      <path class="heavy" d="M78 62V100" />
      <circle class="hole" cx="78" cy="119" r="5" />
      <path class="plate" d="M172 34H226V126H172Z" />
      <path class="plate" d="M182 80H216V116H182Z" />
      <circle cx="199" cy="98" r="8" />
      <path d="M182 80L188 46H210L216 80M199 54V70" />
    </Drawing>
  );
}
