/** What a person is told while a hand is on a screw: which one, why, and what to take care of. */
import { expect, test } from 'vitest';
import { cautionsOf, offers, type TaskState } from '../domain/task';
import { bare, bobbinCase, filled, type Here, machine, opened, play } from '../domain/task/world';
import { heading, saying } from './task';
import { offerWords } from './task-offers';

const bobbin = `bobbin:${bobbinCase}`;
const top = `top:${machine}`;
const untried = {
  ...filled,
  machines: filled.machines.map((m) => ({ ...m, topTightens: undefined })),
  bobbinCases: filled.bobbinCases.map((c) => ({ ...c, tightens: undefined })),
};
const at = (here: Here) => {
  const state = here.state as TaskState;
  return { ...saying(state, here.ctx), cautions: cautionsOf(state, here.ctx), title: heading(state, here.ctx) };
};
const turning = (screw: string, minutes: number) => ({ door: 'about', screw, minutes });

test('the trial of which way tightens names its screw, says that it is none of the advice, and goes back', () => {
  const here = play('change-screw', untried, [], turning(top, -30));
  expect(at(here).say).toBe('Which way tightens? Turn the top tension knob to the right.');
  expect(at(here).more).toBe(
    '30 on the clock (half a turn), facing it. Only to find out: it goes back in a moment. The turn that was advised comes after.',
  );
  expect(at(here).title).toBe('Top tension knob');
  expect(at(here).cautions).toEqual(['still']);
  const back = play('change-screw', untried, ['next', 'tighter'], turning(top, -30));
  expect(at(back).say).toBe('Turn the top tension knob back to the left, as far.');

  const own = at(play('change-screw', untried, [], turning(bobbin, -5)));
  expect(own.say).toBe('Which way tightens? Turn the bobbin case screw to the right.');
  expect(own.title).toBe('Bobbin case screw, Blue dot');
  expect(own.cautions).toContain('screw');
  expect(at(opened('ask', untried, { question: 'tightens', screw: top })).more).not.toContain('advised');
});

test('a case screw is cautioned and never offered a whole turn; the top knob is', () => {
  const turns = (screw: string) => {
    const here = play('change-screw', filled, [], turning(screw, -5));
    const words = offers(here.state as TaskState, here.ctx).map((o) =>
      offerWords(o, here.state as TaskState, here.ctx),
    );
    return { whole: words.filter((w) => w.includes('whole turn')), cautions: at(here).cautions };
  };
  expect(turns(bobbin)).toEqual({ whole: [], cautions: ['still', 'screw'] });
  expect(turns(top)).toEqual({ whole: ['Loosen one whole turn', 'Tighten one whole turn'], cautions: ['still'] });
});

test('a full caution is read once: later tasks say only the lines that are new, and not what goes for the phone', () => {
  const cautions = (name: 'balance' | 'drop-test' | 'change-screw' | 'sew', acknowledged: readonly string[]) => {
    const here = opened(name, { ...filled, acknowledged });
    return here.state?.step === 'caution' ? at(here) : undefined;
  };
  const first = cautions('balance', []);
  expect(first?.cautions).toEqual(['still', 'needle', 'moving', 'manual']);
  expect(first?.more).toMatch(/^Take the phone off the head/);
  const second = cautions('drop-test', ['balance']);
  expect(second).toMatchObject({ cautions: ['floor'], more: undefined });
  expect(cautions('sew', ['balance'])).toBeUndefined();
  expect(cautions('change-screw', ['balance', 'drop-test'])).toMatchObject({ cautions: ['screw', 'one-change'] });
});

test('a label is asked for where there is no bobbin case to choose', () => {
  expect(at(opened('ask', bare, { question: 'bobbin-case' })).say).toBe('What is the label of its bobbin case?');
  const some = { ...filled, bench: { ...filled.bench, bobbinCase: undefined } };
  expect(at(opened('ask', some, { question: 'bobbin-case' })).say).toBe('Which bobbin case is in the machine?');
});
