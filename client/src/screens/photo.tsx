/** A photo of the store, shown once its bytes are here. */
import { useEffect, useState } from 'preact/hooks';
import { type Row, shown } from '../read';
import { text } from '../text/book';
import { PhotoView } from '../ui/photo-view';
import type { ScreenProps } from './shell';

export function Photo(props: { row: Row; photoOf: ScreenProps['state']['photoOf']; alt: string; caption?: string }) {
  const { row, photoOf, alt, caption } = props;
  const [src, setSrc] = useState<string>();
  const sha = String(shown(row, 'sha256') ?? '');
  useEffect(() => {
    let url: string | undefined;
    let gone = false;
    void photoOf(sha).then((p) => {
      if (!p || gone) return;
      url = URL.createObjectURL(new Blob([p.bytes], { type: p.type }));
      setSrc(url);
    });
    return () => {
      gone = true;
      if (url) URL.revokeObjectURL(url);
    };
  }, [sha, photoOf]);
  return (
    <PhotoView
      src={src}
      alt={alt}
      width={Number(shown(row, 'width') ?? 4)}
      height={Number(shown(row, 'height') ?? 3)}
      missing={text.photoMissing}
      caption={caption}
    />
  );
}
