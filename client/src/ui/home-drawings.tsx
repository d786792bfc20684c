/** How to put the app on the home screen by hand, drawn; the words stand beside it. Each is 240 x 96 units. */
import './drawings.css';

/** A phone's lower edge with its browser's bar: the box with an arrow is the one to tap. */
export function TapShare() {
  return (
    <svg class="drawing" viewBox="0 0 240 96" aria-hidden="true">
      <path class="plate" d="M20 0V80A12 12 0 0 0 32 92H208A12 12 0 0 0 220 80V0" />
      <path class="fine" d="M20 44H220" />
      <path class="fine" d="M46 60L38 68L46 76M70 60L78 68L70 76M164 60H178V76H164ZM196 60V76M204 60V76" />
      <path d="M112 62H106V80H134V62H128M120 72V52M113 58L120 51L127 58" />
      <circle cx="120" cy="66" r="25" class="fine dashed" />
      <path class="arrow" d="M120 8V34M112 27L120 36L128 27" />
    </svg>
  );
}

/** The list that comes up: the line with a plus in a box, and the app among the others on the home screen. */
export function AddToHome() {
  return (
    <svg class="drawing" viewBox="0 0 240 96" aria-hidden="true">
      <path class="plate" d="M6 12H130V84H6Z" />
      <path class="fine" d="M6 36H130M6 60H130M18 24H78M18 72H70" />
      <path d="M18 48H84M104 41H118V55H104ZM111 44V52M107 48H115" />
      <path class="arrow" d="M138 48H160M152 41L161 48L152 55" />
      <path class="plate" d="M172 6H234V90H172Z" />
      <path class="fine" d="M180 16H194V30H180ZM202 16H216V30H202ZM180 40H194V54H180Z" />
      <path class="plate heavy" d="M200 42H222V64H200Z" />
    </svg>
  );
}
