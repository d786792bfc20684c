import './photo-view.css';

/**
 * A photograph with its caption. `src` is a blob address, or undefined while the picture is still on its way from
 * another phone: then `missing` says so in a frame of the same shape, so nothing moves when it comes.
 */
export function PhotoView(props: {
  src?: string;
  alt: string;
  width: number;
  height: number;
  missing: string;
  caption?: string;
  open?: { label: string; onOpen: () => void };
}) {
  const { src, alt, width, height, missing, caption, open } = props;
  const shape = { aspectRatio: `${width} / ${height}` };
  const picture = src ? (
    <img src={src} alt={alt} width={width} height={height} style={shape} decoding="async" />
  ) : (
    <div class="no-photo" style={shape}>
      <span>{missing}</span>
    </div>
  );
  return (
    <figure class="photo">
      {open && src ? (
        <button type="button" aria-label={open.label} onClick={open.onOpen}>
          {picture}
        </button>
      ) : (
        picture
      )}
      {caption && <figcaption>{caption}</figcaption>}
    </figure>
  );
}
