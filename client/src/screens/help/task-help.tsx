/** What a task is for: one picture and three sentences, on a card over the step that one comes from. */
import type { Ctx, TaskName } from '../../domain/task';
import { help, text } from '../../text/help';
import { taskTitle } from '../../text/task-title';
import { ClockStill } from '../../ui/clock-face';
import { LockSlider } from '../../ui/lock-slider';
import { Sheet } from '../../ui/sheet';
import { LightDoor } from '../light';
import { threadColours } from '../task/parts';
import { type Drawing, drawing } from '../task/pictures';
import './task-help.css';

/** These begin with what the threads do, which one moves by hand; the others with an act. */
const drawn: { readonly [task in TaskName]: Drawing | 'lock' | 'clock' } = {
  'first-run': 'two-lines',
  balance: 'lock',
  'drop-test': 'case-over-hand',
  'change-screw': 'clock',
  'top-feel': 'pull-behind-needle',
  sew: 'two-lines',
  see: 'lock',
  'first-five': 'needle-set',
  stop: 'hands-off',
  lift: 'hands-off',
  ask: 'clock',
};

export function TaskHelp({ task, ctx, onClose }: { task: TaskName; ctx: Ctx; onClose: () => void }) {
  const picture = drawn[task];
  return (
    <Sheet title={taskTitle[task]} close={text.close} onClose={onClose}>
      <ul class="help-says">
        {help[task].map((sentence) => (
          <li key={sentence}>{sentence}</li>
        ))}
      </ul>
      {picture === 'lock' ? (
        <LockSlider {...threadColours(ctx)} />
      ) : (
        <div class="help-picture">
          {picture === 'clock' ? (
            <figure class="clock">
              <ClockStill was={0} now={5} label={text.clock} />
            </figure>
          ) : (
            drawing(picture)
          )}
        </div>
      )}
      <LightDoor />
    </Sheet>
  );
}
