import { afterEach, describe, expect, it, vi } from 'vitest';
import { schedule, usualGaps } from '../domain/task';
import { type FakeAudio, fakeAudio, heard } from './fake-audio';
import { createSound } from './sound';

const rate = 8000;

/** A phone whose page clock and audio clocks are moved by hand; each new context starts at nothing. */
function phone() {
  const made: FakeAudio[] = [];
  let now = 1000;
  vi.stubGlobal(
    'AudioContext',
    class {
      constructor() {
        const audio = fakeAudio();
        made.push(audio);
        const more = { state: 'suspended', resume: async () => undefined, close: async () => undefined };
        Object.defineProperties(this, Object.getOwnPropertyDescriptors(Object.assign(audio.ctx, more)));
      }
    },
  );
  const sound = createSound(() => now);
  return {
    sound,
    made,
    /** Time goes by for `ms`, looked at every 16 ms, `running` or not. */
    pass(ms: number, running = true) {
      for (let t = 0; t < ms; t += 16) {
        now += 16;
        const audio = made.at(-1);
        if (audio && running) audio.time += 0.016;
        sound.look();
      }
    },
    /** The page is busy: nothing is looked at, the audio clock goes on. */
    busy(ms: number) {
      now += ms;
      const audio = made.at(-1);
      if (audio) audio.time += ms / 1000;
    },
    now: () => now,
  };
}
afterEach(() => vi.unstubAllGlobals());

const lows = (audio: FakeAudio | undefined) =>
  heard(audio?.render(40, rate) ?? new Float32Array(), rate).filter((t) => Math.abs(t.hz - 392) < 20);

describe('sound from the phone', () => {
  it('holds its times while the page is busy for 300 ms', () => {
    const p = phone();
    p.sound.play(schedule(usualGaps), p.now());
    p.pass(1000);
    p.busy(300);
    p.pass(32_000);
    expect(p.made).toHaveLength(1);
    for (const [i, at] of [5, 16, 27].entries())
      expect(Math.abs((lows(p.made[0])[i]?.at ?? 0) - at)).toBeLessThan(0.05);
  });

  it('is lined up with the tap when the audio clock starts late', () => {
    const p = phone();
    p.sound.play(schedule(usualGaps), p.now());
    p.pass(112, false); // 112 ms until the context runs
    p.pass(33_000);
    expect(Math.abs((lows(p.made[0])[0]?.at ?? 0) - (5 - 0.112))).toBeLessThan(0.03);
    expect(lows(p.made[0])).toHaveLength(3); // none twice
  });

  it('goes on in a new context when the clock stands still, with the rest in time', () => {
    const p = phone();
    p.sound.play(schedule(usualGaps), p.now());
    p.pass(6000);
    p.pass(200, false); // a call comes in
    expect(p.made).toHaveLength(2);
    p.pass(27_000);
    const again = lows(p.made[1]);
    expect(again).toHaveLength(2); // the drop at 5 s has sounded
    expect(Math.abs((again[0]?.at ?? 0) - (16 - 6.2))).toBeLessThan(0.05);
  });

  it('is quiet after a stop', () => {
    const p = phone();
    p.sound.play(schedule(usualGaps), p.now());
    p.pass(6000);
    p.sound.stop();
    expect(heard(p.made[0]?.render(40, rate) ?? new Float32Array(), rate).every((t) => t.at < 6.1)).toBe(true);
  });

  it('does without where there is none', () => {
    vi.stubGlobal('AudioContext', undefined);
    const sound = createSound(() => 0);
    expect(() => {
      sound.play(schedule(usualGaps), 0);
      sound.look();
      sound.stop();
    }).not.toThrow();
  });
});
