import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Cue, gapBounds, schedule, usualGaps } from '../domain/task';
import { fakeAudio, heard } from './fake-audio';
import { beepsOf, renderCues } from './tones';

const rate = 16_000;

/** What is heard of a schedule whose Start was `agoS` before the clock's now. */
function listen(cues: readonly Cue[], agoS = 0, sound = true) {
  const audio = fakeAudio(agoS);
  renderCues(audio.ctx, cues, { sound, from: 0 });
  const last = cues.at(-1)?.atMs ?? 0;
  return heard(audio.render(last / 1000 + 1.5, rate), rate);
}
const starts = (cues: readonly Cue[]) =>
  cues.flatMap((c) => beepsOf(c).map((b) => (c.atMs + b.atMs) / 1000)).sort((a, b) => a - b);

describe('cues as heard', () => {
  it('stand at their times, all three drops, within 50 ms', () => {
    const cues = schedule(usualGaps);
    const tones = listen(cues);
    const wanted = starts(cues);
    expect(tones).toHaveLength(wanted.length);
    for (const [i, at] of wanted.entries()) expect(Math.abs((tones[i]?.at ?? -9) - at)).toBeLessThan(0.05);
  });

  it('tell hold, shake, tick and end apart by pitch, and the end lasts', () => {
    const cues = schedule(usualGaps, 1);
    const tones = listen(cues);
    const near = (at: number) => tones.find((t) => Math.abs(t.at - at / 1000) < 0.05);
    const by = Object.fromEntries(cues.map((c) => [c.cue, near(c.atMs)]));
    const tick = listen([{ atMs: 0, cue: 'tick', drop: 0 }])[0];
    const pitches = [by.hold?.hz, by.shake?.hz, by.end?.hz, tick?.hz].map((hz) => hz ?? 0);
    for (const [i, a] of pitches.entries())
      for (const b of pitches.slice(i + 1)) expect(Math.max(a, b) / Math.min(a, b)).toBeGreaterThan(1.2);
    expect(pitches[1]).toBeGreaterThan((pitches[0] ?? 0) * 3);
    expect((by.end?.until ?? 0) - (by.end?.at ?? 0)).toBeGreaterThanOrEqual(0.6);
  });

  it('keep apart and to their times for any gaps', () => {
    const gap = (g: keyof typeof gapBounds) =>
      fc.integer({ min: gapBounds[g].least, max: Math.min(12, gapBounds[g].most) });
    fc.assert(
      fc.property(gap('pickUpS'), gap('holdS'), gap('quietS'), fc.integer({ min: 1, max: 3 }), (p, h, q, drops) => {
        // With no time to take hold, the number and the low tone come together; the ear has both pitches then.
        fc.pre(p > 0);
        const cues = schedule({ pickUpS: p, holdS: h, quietS: q }, drops);
        const tones = listen(cues);
        const wanted = starts(cues).filter((at, i, all) => i === 0 || at - (all[i - 1] ?? 0) > 0.1);
        for (const at of wanted) expect(tones.some((t) => Math.abs(t.at - at) < 0.05)).toBe(true);
      }),
      { numRuns: 15 },
    );
  });

  it('leave out what is past when the sound comes late, and keep the rest in time', () => {
    const cues = schedule(usualGaps);
    const tones = listen(cues, 6); // the first low tone, at 5 s, has gone by
    expect(tones[0]?.at).toBeCloseTo(8, 1);
    expect(tones.every((t) => t.at > 6)).toBe(true);
  });

  it('are silent with the sound off', () => {
    expect(listen(schedule(usualGaps), 0, false)).toEqual([]);
  });

  it('can be called off', () => {
    const audio = fakeAudio();
    const voices = renderCues(audio.ctx, schedule(usualGaps), { sound: true, from: 0 });
    audio.time = 7;
    for (const v of voices) if (v.until > 7) v.cancel();
    expect(heard(audio.render(40, rate), rate).every((t) => t.at < 7)).toBe(true);
  });
});
