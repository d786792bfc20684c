/** What a step is drawn from, and what it is drawn into. */
import type { ComponentChildren } from 'preact';
import type { Phase } from '../../cues/phase';
import type { Action, Ctx, Offer, TaskState } from '../../domain/task';
import type { Send, Settings, State } from '../../state';
import type { Layout } from './layout';

export type StepProps = {
  readonly task: TaskState;
  readonly ctx: Ctx;
  readonly layout: Layout;
  readonly settings: Settings;
  readonly send: Send;
  readonly rows: State['rows'];
  readonly photoOf: State['photoOf'];
  readonly words: (offer: Offer) => string;
  /** A tap: the offer's action, with the event for its time. */
  readonly press: (action: Action, event?: Event) => void;
  /** What is typed: shown at once, told to the task at the next pause. */
  readonly type: (text: string, of?: string) => void;
  readonly phase?: Phase; // while sound paces
  readonly awake: boolean; // the screen is kept on
  readonly tryCue: (how: 'sound' | 'buzz' | 'voice') => void;
};

export type Parts = {
  readonly picture?: ComponentChildren;
  readonly controls?: ComponentChildren;
  /** Nothing else stands in the lower half: all of it presses the main act. */
  readonly lowerHalf?: boolean;
  /** Names what is on screen inside the step, so that the heading is read again when it changes. */
  readonly within?: string;
};

/** The two thread colours of the bench, where they are known. */
export function threadColours(ctx: Ctx): { readonly topColour?: string; readonly bobbinColour?: string } {
  const colour = (id: string | undefined) => {
    const known = ctx.threads.find((t) => t.id === id)?.colour;
    return known && /^#[0-9a-f]{6}$/i.test(known) ? known : undefined;
  };
  return { topColour: colour(ctx.bench.topThread), bobbinColour: colour(ctx.bench.bobbinThread) };
}
