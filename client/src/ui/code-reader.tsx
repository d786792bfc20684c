import { useEffect, useRef } from 'preact/hooks';
import './code-reader.css';

const decoder = () => import('qr/decode.js');

/** The longest side of a picture that is looked through: more costs time and shows no more of a code (our choice). */
const longestPx = 1600;
/** Between two looks of the camera (our choice): a phone stays cool, or sees each code of a run more than once. */
const everyMs = { still: 150, run: 30 } as const;

/** The text of the code in a picture; undefined where none is found. Throws RangeError where it is no picture. */
export async function readPicture(file: Blob): Promise<string | undefined> {
  const picture = await createImageBitmap(file).catch(() => {
    throw new RangeError('no picture');
  });
  try {
    // A code that fills the picture is found small, one in a corner large.
    for (const px of [longestPx, longestPx / 2, 2 * longestPx]) {
      const found = await readPixels(picture, picture.width, picture.height, px, Infinity);
      if (found !== undefined) return found;
    }
    return undefined;
  } finally {
    picture.close();
  }
}

async function readPixels(
  source: CanvasImageSource,
  width: number,
  height: number,
  most: number,
  effort: number,
): Promise<string | undefined> {
  const scale = Math.min(1, most / Math.max(width, height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const pen = canvas.getContext('2d', { willReadFrequently: true });
  if (!pen) return undefined;
  pen.fillStyle = 'white'; // what is clear in a picture is paper
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(source, 0, 0, canvas.width, canvas.height);
  const { decodeQR } = await decoder();
  try {
    const limits = effort === Infinity ? { effort, timeLimit: 2_000 } : {};
    return decodeQR(pen.getImageData(0, 0, canvas.width, canvas.height), limits);
  } catch {
    return undefined; // no code in it
  }
}

/** There is no camera or it may not be used; the page was hidden; what finds codes did not load. */
export type CameraEnd = 'refused' | 'hidden' | 'not-loaded';

/**
 * What the camera sees, looked through again and again until a code is found; of a `run` it goes on, and tells a code once while
 * it stands. The camera is asked for when this is mounted and let go when it is unmounted, or before that with `onEnd`.
 */
export function Camera(props: {
  label: string;
  run?: boolean;
  onText: (text: string) => void;
  onEnd: (why: CameraEnd) => void;
}) {
  const video = useRef<HTMLVideoElement>(null);
  const told = useRef(props);
  told.current = props;
  useEffect(() => {
    let over = false;
    let stream: MediaStream | undefined;
    let timer: ReturnType<typeof setTimeout>;
    let last: string | undefined;
    const end = () => {
      over = true;
      clearTimeout(timer);
      for (const track of stream?.getTracks() ?? []) track.stop();
    };
    const look = async () => {
      const seen = video.current;
      if (over || !seen) return;
      if (seen.readyState >= 2) {
        const text = await readPixels(seen, seen.videoWidth, seen.videoHeight, longestPx, 1);
        if (over) return;
        if (text !== undefined && text !== last) told.current.onText(text);
        if (text !== undefined && !props.run) return;
        last = text ?? last;
      }
      timer = setTimeout(() => void look().catch(refused), everyMs[props.run ? 'run' : 'still']);
    };
    const stop = (why: CameraEnd) => {
      if (over) return;
      end();
      told.current.onEnd(why);
    };
    const refused = () => stop('refused');
    const hide = () => document.hidden && stop('hidden');
    const start = async () => {
      if (!navigator.mediaDevices) return refused(); // plain HTTP, or an old browser
      if (!(await decoder().catch(() => undefined))) return stop('not-loaded');
      if (over) return;
      stream = await navigator.mediaDevices.getUserMedia({
        audio: false,
        video: { facingMode: 'environment', width: { ideal: 1280 }, height: { ideal: 720 } },
      });
      if (over || !video.current) return end();
      video.current.srcObject = stream;
      await video.current.play();
      await look();
    };
    document.addEventListener('visibilitychange', hide);
    start().catch(refused);
    return () => {
      end();
      document.removeEventListener('visibilitychange', hide);
    };
  }, []);
  return <video class="code-reader" ref={video} aria-label={props.label} muted playsInline />;
}
