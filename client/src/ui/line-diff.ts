/** One line of a text, and whether the other text has it too, in the same order. */
export type DiffLine = { text: string; same: boolean };

const most = 400; // lines compared; beyond that both texts are shown unmarked rather than the phone kept busy

/** Both texts line by line; lines of the longest run common to both are the same, all others differ. */
export function diffLines(a: string, b: string): [DiffLine[], DiffLine[]] {
  const [x, y] = [a.split('\n'), b.split('\n')];
  if (x.length > most || y.length > most)
    return [x.map((text) => ({ text, same: true })), y.map((text) => ({ text, same: true }))];
  // common[i][j]: length of the longest common run of x from i and y from j
  const common = Array.from({ length: x.length + 1 }, () => new Array<number>(y.length + 1).fill(0));
  const at = (i: number, j: number) => common[i]?.[j] ?? 0;
  for (let i = x.length - 1; i >= 0; i -= 1) {
    for (let j = y.length - 1; j >= 0; j -= 1) {
      const row = common[i];
      if (row) row[j] = x[i] === y[j] ? at(i + 1, j + 1) + 1 : Math.max(at(i + 1, j), at(i, j + 1));
    }
  }
  const left = x.map((text) => ({ text, same: false }));
  const right = y.map((text) => ({ text, same: false }));
  for (let i = 0, j = 0; i < x.length && j < y.length; ) {
    const [l, r] = [left[i], right[j]];
    if (l && r && l.text === r.text) {
      l.same = true;
      r.same = true;
      i += 1;
      j += 1;
    } else if (at(i + 1, j) >= at(i, j + 1)) i += 1;
    else j += 1;
  }
  return [left, right];
}
