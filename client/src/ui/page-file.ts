/** What a shared page looks like where it is opened: black on white, in the browser's own letters. */
const look =
  'body{max-width:48rem;margin:1rem auto;padding:0 1rem;font:1.1rem/1.4 system-ui,sans-serif}' +
  'dl{display:grid;grid-template-columns:1fr 2fr}dt,dd{margin:0;padding:.3rem;border-top:1px solid}dt,.first{font-weight:700}' +
  '.first{padding:.5rem;border:3px solid;font-size:1.3rem}.bar{display:none}img{max-width:100%;height:auto}';

/**
 * A printed sheet as one file that needs nothing else: its words as they stand, its photos inside. What people wrote comes
 * from the page's text, so it is text in the file too.
 */
export function pageFile(sheet: HTMLElement, title: string): Blob {
  const copy = sheet.cloneNode(true) as HTMLElement;
  const photos = [...sheet.querySelectorAll('img')];
  for (const [i, img] of [...copy.querySelectorAll('img')].entries()) {
    const photo = photos[i];
    if (photo?.complete && photo.naturalWidth > 0) img.src = inside(photo);
    else img.remove();
  }
  const head = document.createElement('title');
  head.textContent = title;
  const start = `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">`;
  const html = `${start}${head.outerHTML}<style>${look}</style></head><body>${copy.outerHTML}</body></html>`;
  return new Blob([html], { type: 'text/html' });
}

/** The picture in the address itself. */
function inside(img: HTMLImageElement): string {
  const canvas = document.createElement('canvas');
  canvas.width = img.naturalWidth;
  canvas.height = img.naturalHeight;
  canvas.getContext('2d')?.drawImage(img, 0, 0);
  return canvas.toDataURL('image/jpeg', 0.85);
}
