import { encodeQR } from 'qr';
import { describe, expect, test } from 'vitest';
import { stripPieces } from '../domain/sheet';
import { asText, find, fire } from './as-text';
import { BothKept } from './both-kept';
import { ClockFace, ClockMarks } from './clock-face';
import { DropStrip } from './drop-strip';
import { Paper } from './paper';
import { PaperStrip } from './paper-strip';
import { squares } from './qr';
import { type Ray, StarPicker } from './star-picker';
import { Tile, TileRow } from './tiles';

describe('clock face', () => {
  const face = (was: number, now: number, moves: number[] = [], homes: string[] = []) =>
    ClockFace({
      label: 'Bobbin case screw',
      name: '5 minutes tighter, 12 to 1 o’clock',
      facing: 'Screw facing you',
      was,
      now,
      step: 5,
      onStep: (m) => moves.push(m),
      onHome: () => homes.push('home'),
    });
  const slider = (node: unknown) => find(node, (_, p) => p.role === 'slider')[0] ?? {};
  const press = (node: unknown, key: string) => {
    const stopped: string[] = [];
    const event = { key, preventDefault: () => stopped.push('default'), stopPropagation: () => stopped.push('bubble') };
    fire(slider(node), 'onKeyDown', event);
    return stopped;
  };

  test('is named in words and says how far it moved', () => {
    expect(slider(face(10, 15))).toMatchObject({
      'aria-label': 'Bobbin case screw',
      'aria-valuetext': '5 minutes tighter, 12 to 1 o’clock',
      'aria-valuenow': 5,
      tabIndex: 0,
    });
  });

  test('arrow keys move by the step, Home goes back, other keys are left alone', () => {
    const moves: number[] = [];
    const homes: string[] = [];
    const node = face(0, 5, moves, homes);
    for (const key of ['ArrowRight', 'ArrowUp', 'ArrowLeft', 'ArrowDown', 'Home']) {
      expect(press(node, key)).toEqual(['default', 'bubble']);
    }
    expect(press(node, 'Tab')).toEqual([]);
    expect(moves).toEqual([5, 5, -5, -5]);
    expect(homes).toEqual(['home']);
  });

  test('hands at 12 and 3 o’clock, the arc clockwise between them', () => {
    const text = asText(face(0, 15));
    expect(text).toContain('<path class="hand was" d="M0 0L0 -60">');
    expect(text).toContain('<path class="hand" d="M0 0L60 0">');
    expect(text).toContain('M0 -46A46 46 0 0 1 46 0');
  });

  test('the other way round for a loosened screw', () => {
    expect(asText(face(0, -15))).toContain('M0 -46A46 46 0 0 0 -46 0');
  });

  test('each whole turn is a ring of its own', () => {
    const rings = (by: number) => find(face(5, 5 + by), (type, p) => type === 'circle' && p.class === 'way').length;
    expect([0, 59, 60, -60, 125].map(rings)).toEqual([0, 0, 1, 1, 2]);
  });
});

test('a clock to tap has twelve answers with words', () => {
  const picked: number[] = [];
  const node = ClockMarks({ legend: 'Where?', minute: 10, nameOf: (m) => `${m} past`, onPick: (m) => picked.push(m) });
  const marks = find(node, (type) => type === 'button');
  expect(marks.map((m) => m['aria-label'])).toEqual(
    [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55].map((m) => `${m} past`),
  );
  expect(marks.filter((m) => m['aria-pressed'])).toHaveLength(1);
  fire(marks[3], 'onClick');
  expect(picked).toEqual([15]);
});

test('the star: eight rays and two circles, each a target that says its name', () => {
  const ids = [0, 45, 90, 135, 180, 225, 270, 315, 'circle-left', 'circle-right'] as const;
  const rays: Ray[] = ids.map((id) => ({ id, name: `ray ${id}`, mark: id === 90 ? '−1' : '' }));
  const tapped: unknown[] = [];
  const node = StarPicker({ label: 'Star', rays, onCycle: (id) => tapped.push(id) });
  const targets = find(node, (type) => type === 'button');
  expect(targets).toHaveLength(10);
  expect(targets.filter((t) => t.class === 'odd')).toHaveLength(1);
  for (const t of targets) fire(t, 'onClick');
  expect(tapped).toEqual([...ids]);
  for (const id of ids) expect(asText(node)).toContain(`<span class="unseen">ray ${id}</span>`);
});

describe('tiles', () => {
  const option = { id: 'top', label: 'Top' };
  const input = (chosen: boolean, many: boolean, got: boolean[]) =>
    find(Tile({ name: 'face', option, chosen, many, onChoose: (on) => got.push(on) }), (type) => type === 'input')[0];

  test('tapping the chosen answer takes it back', () => {
    const got: boolean[] = [];
    fire(input(true, false, got), 'onClick');
    expect(got).toEqual([false]);
  });

  test('a tap on another chooses it once', () => {
    const got: boolean[] = [];
    const other = input(false, false, got);
    fire(other, 'onClick');
    fire(other, 'onChange', { currentTarget: { checked: true } });
    expect(got).toEqual([true]);
  });

  test('one of, or several of', () => {
    expect(input(false, false, [])?.type).toBe('radio');
    expect(input(false, true, [])?.type).toBe('checkbox');
  });

  test('the words of the question are there even when they are not seen', () => {
    const node = TileRow({
      name: 'f',
      legend: 'Which face?',
      hideLegend: true,
      options: [option],
      chosen: [],
      onChoose: () => {},
    });
    expect(asText(node)).toContain('<legend class="unseen">Which face?</legend>');
  });
});

test('both texts stand whole, and the lines that differ say so', () => {
  const kept: string[] = [];
  const node = BothKept({
    title: 'Two',
    differs: 'Differs',
    values: [
      { id: 'a', who: 'Ada', when: 'Tue', text: 'same\n<b>one</b>' },
      { id: 'b', who: 'Bea', when: 'Mon', text: 'same\ntwo' },
    ],
    keepBoth: { label: 'Keep both', onKeep: () => kept.push('both') },
    keepOne: (v) => `Keep ${v.who}`,
    onKeepOne: (id) => kept.push(id),
  });
  const text = asText(node);
  expect(text).toContain('<span class="unseen">Differs: </span>&#60;b&#62;one&#60;/b&#62;');
  expect(text.match(/Differs/g)).toHaveLength(2);
  for (const b of find(node, (type) => type === 'button')) fire(b, 'onClick');
  expect(kept).toEqual(['both', 'a', 'b']);
});

test('the strip for the printer is drawn in millimetres, every line where its figure says', () => {
  const [piece] = stripPieces('a4', { from: 35, to: 55 });
  if (!piece) throw new Error('no piece');
  const text = asText(PaperStrip({ piece, label: 'strip', units: ['in', 'mm'], zero: 'bottom of the case' }));
  const [, width, height] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(text) ?? [];
  expect(text).toContain(`width="${width}mm"`);
  expect(text).toContain(`height="${height}mm"`);
  const zero = Number(/<path class="strong" d="M0\.2 ([\d.]+)H/.exec(text)?.[1]);
  const lines = (edge: string) =>
    [...text.matchAll(new RegExp(`M${edge} ([\\d.]+)h`, 'g'))].map(([, y]) => Number(y) - zero).sort((a, b) => a - b);
  expect(lines('0.2')).toEqual(Array.from({ length: 17 }, (_, i) => expect.closeTo(i * 12.7, 2))); // half inches to 8 in
  expect(lines('42.8')).toEqual(Array.from({ length: 21 }, (_, i) => expect.closeTo(i * 10, 2)));
  const [, top, end] = /M16 ([\d.]+)H25V([\d.]+)H16Z/.exec(text) ?? [];
  expect([Number(top) - zero, Number(end) - zero]).toEqual([expect.closeTo(88.9, 2), expect.closeTo(139.7, 2)]);
});

test('the bar of a sheet is 50 mm long', () => {
  const text = asText(Paper({ size: 'a4', title: 'A sheet', bar: 'measure it', children: '' }));
  expect(text).toContain('viewBox="0 0 50 2" width="50mm" height="2mm"');
  expect(text).toContain('<rect width="50" height="2"');
});

test('the strip in millimetres has its marks where they belong', () => {
  const text = asText(DropStrip({ label: 'strip', note: ['not true', 'size'], unit: 'mm', metric: true }));
  expect(text).toMatch(/>not true<.*>size</);
  const [, high] = /viewBox="0 0 64 ([\d.]+)"/.exec(text) ?? [];
  const sheet = /d="M1 1H63V([\d.]+)H1Z"/.exec(text)?.[1];
  const numbers = [...text.matchAll(/<text x="36" y="([\d.]+)"/g)].map((m) => Number(m[1]));
  expect(Number(sheet)).toBeGreaterThan(Math.max(...numbers) + 2); // the last number is not cut by the frame
  expect(Number(high)).toBeGreaterThan(Number(sheet));
  const path = /<path d="(M2[^"]+)"/.exec(text)?.[1] ?? '';
  const at = [...path.matchAll(/M2 ([\d.]+)h(\d+)/g)].map(([, y, long]) => [Number(y), Number(long)] as const);
  expect(at).toHaveLength(26); // 0 to 250 mm
  for (const [i, [y, long]] of at.entries()) {
    expect((((y - 4) / 32) * 25.4) / 10).toBeCloseTo(i, 2); // 32 units an inch
    expect(long).toBe(i % 5 === 0 ? 22 : 12);
  }
  expect([...text.matchAll(/>(\d+)<\/text>/g)].map((m) => m[1])).toEqual(['0', '50', '100', '150', '200', '250']);
});

test('a code drawn as squares has every dark cell and no other', () => {
  const cells = encodeQR('HTTP://STUDIO/#7KMXW2PQ', 'raw', { ecc: 'medium', border: 4 });
  const drawn = cells.map((row) => row.map(() => false));
  for (const [, x, y, run] of squares(cells).matchAll(/M(\d+) (\d+)h(\d+)v1h-\d+z/g)) {
    for (let i = 0; i < Number(run); i += 1) {
      const row = drawn[Number(y)];
      if (row) row[Number(x) + i] = true;
    }
  }
  expect(drawn).toEqual(cells);
});
