/** For tests: what a part without hooks renders, as markup. */
import { isValidElement } from 'preact';

type Props = Record<string, unknown> & { children?: unknown };

const names: Record<string, string> = { tabIndex: 'tabindex', htmlFor: 'for' };
const escaped = (text: string) => text.replace(/[&<>"]/g, (c) => `&#${c.charCodeAt(0)};`);

export function asText(node: unknown): string {
  if (node === null || node === undefined || typeof node === 'boolean') return '';
  if (Array.isArray(node)) return node.map(asText).join('');
  if (!isValidElement(node)) return escaped(String(node));
  const props = node.props as Props;
  if (typeof node.type === 'function') return asText((node.type as (p: Props) => unknown)(props));
  const attributes = Object.entries(props).flatMap(([name, value]) => {
    if (name === 'children' || typeof value === 'function' || value === undefined || value === false) return [];
    const text =
      typeof value === 'object'
        ? Object.entries(value ?? {})
            .flatMap(([k, v]) => (v ? [`${k}:${v}`] : []))
            .join(';')
        : value;
    return [` ${names[name] ?? name}="${escaped(text === true && !name.startsWith('aria-') ? '' : String(text))}"`];
  });
  return `<${String(node.type)}${attributes.join('')}>${asText(props.children)}</${String(node.type)}>`;
}

/** All elements of a tree that a test wants to press or read. */
export function find(node: unknown, wanted: (type: unknown, props: Props) => boolean): Props[] {
  if (Array.isArray(node)) return node.flatMap((n) => find(n, wanted));
  if (!isValidElement(node)) return [];
  const props = node.props as Props;
  const inside = typeof node.type === 'function' ? (node.type as (p: Props) => unknown)(props) : props.children;
  return [...(wanted(node.type, props) ? [props] : []), ...find(inside, wanted)];
}

/** Presses what a test found; a handler that isn't there fails the test. */
export function fire(props: Props | undefined, handler: string, event: unknown = {}): void {
  const act = props?.[handler];
  if (typeof act !== 'function') throw new Error(`no ${handler} to fire`);
  act(event);
}
