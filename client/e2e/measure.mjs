// What is wrong with a page as it stands: nothing may run off it, be cut off, lie over its neighbour, or be too small.

/** The widths it is held to: small and large phones, one on its side, a tablet, a desk. */
export const sizes = [
  [320, 568],
  [360, 740],
  [390, 844],
  [568, 320],
  [768, 1024],
  [1280, 800],
];

/** Gives the page a size, and the time to draw itself in it. */
export async function resize(page, [width, height]) {
  await page.setViewportSize({ width, height });
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

/** One line for each thing that is wrong. */
export const measure = (page) => page.evaluate(look, page.viewportSize().width);

/** Runs in the page. */
function look(width) {
  const wrong = [];
  const root = document.documentElement;
  const name = (e) =>
    `${e.tagName.toLowerCase()}.${e.className?.baseVal ?? e.className} "${(e.textContent ?? '').trim().slice(0, 30)}"`;
  const seen = (e) =>
    e.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && e.getClientRects().length > 0;
  const modal = document.querySelector('dialog[open]');
  const within = modal ?? document.body;

  // a phone widens its own view to what is too wide: ask for what it was given
  if (root.scrollWidth > width) wrong.push(`sideways scroll: ${root.scrollWidth} of ${width} px`);
  const heads = [...document.querySelectorAll('h1')].filter(seen);
  if (heads.length !== 1) wrong.push(`${heads.length} headings of the first order`);

  /** What of a box is not cut off by what it stands in. */
  const shown = (e, box, cutOnly) => {
    let { left, right, top, bottom } = box;
    for (let p = e; p && p !== document.body; p = p.parentElement) {
      const style = getComputedStyle(p);
      if (style.overflowX === 'visible' && style.overflowY === 'visible') continue;
      if (cutOnly && /auto|scroll/.test(style.overflowY)) break; // what scrolls can be brought into view
      const r = p.getBoundingClientRect();
      left = Math.max(left, r.left);
      right = Math.min(right, r.right);
      top = Math.max(top, r.top);
      bottom = Math.min(bottom, r.bottom);
    }
    return { left, right, top, bottom };
  };

  const controls = 'button, a[href], input, select, textarea, summary, [role=button], [role=radio], [role=slider]';
  const walk = document.createTreeWalker(within, NodeFilter.SHOW_TEXT);
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    const e = n.parentElement;
    if (!n.data.trim() || !e || !seen(e) || e.closest('svg, .unseen')) continue;
    const px = Number.parseFloat(getComputedStyle(e).fontSize);
    if (px < 14.99) wrong.push(`text of ${px} px: ${name(e)}`);
    const range = document.createRange();
    range.selectNodeContents(n);
    for (const r of range.getClientRects()) {
      if (r.width < 1) continue;
      const s = shown(e, r, true);
      if (s.right - s.left < r.width - 1 || s.bottom - s.top < Math.min(r.height, px) - 1)
        wrong.push(`words cut off: ${name(e)}`);
      if (r.left < -1 || r.right > width + 1) wrong.push(`words beside the page: ${name(e)}`);
      const frame = e.closest('button, .button, .tile, .card, .notice, .take-back')?.getBoundingClientRect();
      if (frame && (r.left < frame.left - 1 || r.right > frame.right + 1 || r.bottom > frame.bottom + 3))
        wrong.push(`words stick out of their frame: ${name(e)}`);
    }
  }

  const boxes = [];
  for (const e of within.querySelectorAll(controls)) {
    const target = e.closest('label') ?? e; // a label is part of its control's target
    if (!seen(target)) continue;
    const r = target.getBoundingClientRect();
    if (r.width < 1 || r.height < 1) continue;
    if (r.width < 47.5 || r.height < 47.5)
      wrong.push(`target of ${Math.round(r.width)} x ${Math.round(r.height)} px: ${name(target)}`);
    const fixed = e.closest('.tab-bar');
    if (!fixed && !boxes.some((b) => b.e === target)) boxes.push({ e: target, ...shown(target.parentElement, r) });
  }
  boxes.forEach((a, i) => {
    for (const b of boxes.slice(i + 1)) {
      if (a.e.contains(b.e) || b.e.contains(a.e)) continue;
      const over = [
        Math.min(a.right, b.right) - Math.max(a.left, b.left),
        Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top),
      ];
      if (over[0] > 1 && over[1] > 1) wrong.push(`one over the other: ${name(a.e)} and ${name(b.e)}`);
    }
  });
  return [...new Set(wrong)];
}
