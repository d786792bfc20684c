/**
 * For tests: a context whose clock is set by hand and which draws what is scheduled on it as samples, loudness and pitch,
 * so that tones are read back from what would be heard and not from what was asked for. Not part of the program.
 */
import type { AudioLike } from './tones';

type Point = { readonly at: number; readonly value: number; readonly ramp: boolean };
type Tone = { hz: number; start: number; stop: number; readonly points: Point[] };

export type FakeAudio = {
  readonly ctx: AudioLike;
  time: number;
  /** Samples of what reaches the speaker, `rate` a second. */
  render(seconds: number, rate: number): Float32Array;
};

export function fakeAudio(time = 0): FakeAudio {
  const tones: Tone[] = [];
  const fake = { time } as FakeAudio;
  const destination = {} as AudioDestinationNode;
  const ctx = {
    get currentTime() {
      return fake.time;
    },
    destination,
    createOscillator() {
      const tone: Tone = { hz: 0, start: Number.POSITIVE_INFINITY, stop: Number.POSITIVE_INFINITY, points: [] };
      tones.push(tone);
      return {
        frequency: {
          set value(hz: number) {
            tone.hz = hz;
          },
        },
        connect(gain: { tone?: Tone }) {
          gain.tone = tone;
        },
        disconnect() {
          tone.stop = Math.min(tone.stop, fake.time);
        },
        start(at: number) {
          if (at < 0) throw new RangeError('start in the past of the clock');
          tone.start = Math.max(at, fake.time);
        },
        stop(at = fake.time) {
          tone.stop = at;
        },
      };
    },
    createGain() {
      const points: Point[] = [];
      const gain = {
        tone: undefined as Tone | undefined,
        gain: {
          setValueAtTime: (value: number, at: number) => void points.push({ at, value, ramp: false }),
          linearRampToValueAtTime: (value: number, at: number) => void points.push({ at, value, ramp: true }),
        },
        connect(to: unknown) {
          if (to === destination) gain.tone?.points.push(...points);
        },
        disconnect() {},
      };
      return gain;
    },
  };
  return Object.assign(fake, {
    ctx: ctx as unknown as AudioLike,
    render(seconds: number, rate: number) {
      const out = new Float32Array(Math.round(seconds * rate));
      for (const tone of tones) {
        const to = Math.min(out.length, Math.round(tone.stop * rate));
        for (let i = Math.max(0, Math.ceil(tone.start * rate)); i < to; i++) {
          const t = i / rate;
          out[i] = (out[i] ?? 0) + levelAt(tone.points, t) * Math.sin(2 * Math.PI * tone.hz * (t - tone.start));
        }
      }
      return out;
    },
  });
}

function levelAt(points: readonly Point[], t: number): number {
  let value = 1;
  for (let i = 0; i < points.length; i++) {
    const [p, next] = [points[i], points[i + 1]];
    if (!p || p.at > t) break;
    value = p.value;
    if (next?.ramp && t < next.at) value += ((next.value - p.value) * (t - p.at)) / (next.at - p.at);
  }
  return value;
}

export type Heard = { readonly at: number; readonly until: number; readonly hz: number };

/** Where sound is, and at what pitch: runs of samples above a floor, silence of 20 ms between them. */
export function heard(samples: Float32Array, rate: number): readonly Heard[] {
  const found: Heard[] = [];
  const silence = 0.02 * rate;
  let from = -1;
  let last = -1;
  const end = () => {
    if (from < 0) return;
    let crossings = 0;
    for (let i = from + 1; i <= last; i++) if ((samples[i - 1] ?? 0) < 0 !== (samples[i] ?? 0) < 0) crossings++;
    found.push({ at: from / rate, until: last / rate, hz: (crossings / 2) * (rate / (last - from)) });
    from = -1;
  };
  samples.forEach((v, i) => {
    if (Math.abs(v) < 0.05) return;
    if (from >= 0 && i - last > silence) end();
    if (from < 0) from = i;
    last = i;
  });
  end();
  return found;
}
