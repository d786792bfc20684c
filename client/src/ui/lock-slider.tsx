import { useState } from 'preact/hooks';
import { lockWay, onWay, pullAt, stitchAt } from '../domain/lock-depth';
import { pullWords, text } from '../text/help';
import { StitchView } from './stitch-view';
import './lock-slider.css';

/** A stitch whose lock is moved through the sandwich: three views of it, and in words which thread pulls harder. */
export function LockSlider(props: { topColour?: string; bobbinColour?: string }) {
  const { topColour, bobbinColour } = props;
  const [depth, setDepth] = useState<number>(lockWay.middle);
  const says = pullWords(pullAt(depth));
  const to = (d: number) => setDepth(onWay(d));
  const { from, to: end, step, middle } = lockWay;
  return (
    <div class="lock-slider">
      <StitchView params={stitchAt(depth)} label={says} size={280} topColour={topColour} bobbinColour={bobbinColour} />
      <p role="status">{says}</p>
      <input
        type="range"
        min={from}
        max={end}
        step={step}
        value={depth}
        aria-label={text.lock}
        aria-valuetext={says}
        onInput={(e) => to(Number(e.currentTarget.value))}
      />
      <div class="ends">
        <button type="button" disabled={depth <= from} onClick={() => to(depth - step)}>
          {text.topHarder}
        </button>
        <button type="button" disabled={depth >= end} onClick={() => to(depth + step)}>
          {text.bobbinHarder}
        </button>
      </div>
      <button type="button" class="small-act" disabled={depth === middle} onClick={() => to(middle)}>
        {text.middle}
      </button>
      <p class="small-text">{text.either}</p>
    </div>
  );
}
