/** Three turns of a case screw without a gain end the turning; what was clean in this balancing is not asked for again. */
import { describe, expect, it } from 'vitest';
import type { Ctx, Drop, Kept, Reading } from './context';
import { dropVerdict, withoutGain } from './drop-verdict';
import { nextStep } from './next-step';
import type { TaskState } from './task';
import { acted, bobbinCase, filled, type Here, opened, otherCase, play, said } from './world';

const { bobbinThread: thread } = filled.bench;
const screw = `bobbin:${bobbinCase}`;
type Told = readonly Drop[];
const short = (tenthsIn?: number): Told => [1, 2, 3].map(() => ({ answer: 'short' as const, tenthsIn }));

/** Tests one after the other, each after the first with a turn before it. */
function tested(tests: readonly Told[], moves: readonly number[] = tests.map(() => -5), balancing?: string): Ctx {
  const readings: Kept<Reading>[] = tests.map((drops, i) => ({
    id: `r${i}`,
    at: 10 + i * 10,
    by: '',
    type: 'drop',
    bobbinCase,
    thread,
    drops,
    balancing,
  }));
  const changes = tests.slice(1).map((_, i) => ({
    id: `c${i}`,
    at: 15 + i * 10,
    by: '',
    screw,
    type: 'move',
    minutes: moves[i] ?? -5,
    after: i === 0 ? [] : [`c${i - 1}`],
    balancing,
  }));
  return { ...filled, readings, changes } as Ctx;
}
const alone = (ctx: Ctx): Ctx => ({ ...ctx, bobbinCases: ctx.bobbinCases.filter((c) => c.id === bobbinCase) });

describe('turning without a gain', () => {
  it('stops after three turns: looks, another case, a technician, and no fourth turn', () => {
    const ctx = tested([short(), short(), short(), short()]);
    expect(dropVerdict(ctx, 'r3')).toMatchObject({ act: 'checks', why: 'no-gain' });
    expect(dropVerdict(ctx, 'r3', true)).toMatchObject({ act: 'case', why: 'no-gain', bobbinCase: otherCase });
    expect(dropVerdict(alone(ctx), 'r3', true)).toMatchObject({ act: 'technician', why: 'no-gain' });
    expect(dropVerdict(ctx, 'r3', true).minutes).toBeUndefined();
  });
  it('stops all the more where the readings got worse', () => {
    expect(dropVerdict(tested([short(20), short(25), short(15), short(10)]), 'r3', true).act).toBe('case');
  });
  it('goes on after two, and while each turn gains', () => {
    expect(dropVerdict(tested([short(), short(), short()]), 'r2', true)).toMatchObject({ act: 'turn', why: 'out' });
    expect(dropVerdict(tested([short(10), short(15), short(20), short(30)]), 'r3', true).act).toBe('turn');
  });
  it('does not count a test that no turn came before, nor across a new count', () => {
    expect(withoutGain(tested([short(), short(), short(), short()], [-5, 0, -5]), reading(3))).toBeUndefined();
  });
  it('offers no case that was tried in between', () => {
    const ctx = tested([short(), short(), short(), short()]);
    const other = { ...reading(2), id: 'other', bobbinCase: otherCase };
    const readings = [...ctx.readings.slice(0, 3), other, ...ctx.readings.slice(3)];
    expect(dropVerdict({ ...ctx, readings }, 'r3', true).act).toBe('technician');
  });
  it('is no next step of a balancing either', () => {
    const ctx = tested([short(), short(), short(), short()], undefined, 'b');
    const at = ctx.now;
    const told = { at, by: '', balancing: 'b', round: 4 };
    const found = ['card_spring:clean', 'threading_walk:right', 'pull_top:as_usual', 'bobbin_look:fine'].map((f, i) => {
      const [finding = '', state = ''] = f.split(':');
      return { id: `f${i}`, ...told, finding, state };
    });
    const rays = [0, 180].map((direction) => ({ direction, score: -1 as const }));
    const all: Ctx = {
      ...ctx,
      balancings: [{ id: 'b', at: 1, by: '', machine: ctx.machine }],
      findings: found,
      samples: [{ id: 's', ...told, rays, allAlike: true }],
    };
    const step = nextStep(all, { balancing: 'b', round: 4 }, []);
    expect('screw' in step ? step.screw : '').not.toBe(screw);
  });
});

const reading = (i: number): Kept<Reading> => ({
  id: `r${i}`,
  at: 10 + i * 10,
  by: '',
  type: 'drop',
  bobbinCase,
  thread,
  drops: short(),
});

describe('a look that was clean', () => {
  const ready = (card: string) => [card, 'right', 'right', 'start', 'passed2', 'short@0', 'short@1', 'short@2', 'next'];
  it('is not asked again by the drop test of the same balancing', () => {
    expect(play('balance', filled, [...ready('clean'), 'next']).state?.step).toBe('thread');
    expect(play('balance', filled, [...ready('lint'), 'next']).state?.step).toBe('card');
  });
  it('nor the bobbin that was swapped: all of them well, and the screw comes next', () => {
    const looks = [...ready('clean'), 'next', 'smooth', 'fine'];
    const { ctx, state } = play('balance', filled, looks);
    const later = opened('drop-test', ctx).state as TaskState;
    const here = { ...play('drop-test', ctx, []), state: { ...later, balancing: state?.balancing } };
    const words = ['start', 'passed2', 'short@0', 'short@1', 'short@2', 'next'];
    const again = words.reduce((h, w, i) => acted(h, 500 + i, said(w)), here as Here);
    expect(again.state?.data.verdict).toMatchObject({ act: 'turn' });
  });
  it('a spongy bobbin that came out is not to be swapped again', () => {
    const { ctx, state } = play('balance', filled, [...ready('clean'), 'next', 'smooth', 'spongy']);
    const inBand: Kept<Reading> = { ...reading(9), at: ctx.now + 1, drops: undefined, type: 'finger', answer: 'tips' };
    const settled = {
      ...ctx,
      now: ctx.now + 2,
      readings: [...ctx.readings, { ...inBand, balancing: state?.balancing }],
    };
    const step = nextStep(settled, { balancing: state?.balancing ?? '', round: 1 }, []);
    expect(JSON.stringify(step)).not.toContain('swap_bobbin');
  });
  it('nor where three drops disagree with the good one in: another case comes next', () => {
    const apart = ['clean', 'right', 'right', 'start', 'passed2', 'right@0', 'falls@1', 'nothing@2', 'next', 'next'];
    const { ctx, state } = play('balance', filled, [...apart, 'smooth', 'fine']);
    const step = nextStep(ctx, { balancing: state?.balancing ?? '', round: 1 }, []);
    expect(step).toMatchObject({ do: 'act', action: 'swap_case' });
  });
  it('is asked in a drop test of its own', () => {
    const alone = ['start', 'passed2', 'short@0', 'short@1', 'short@2', 'next', 'next'];
    expect(play('drop-test', filled, alone).state?.step).toBe('card');
  });
});
