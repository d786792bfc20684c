/** How a person wants to see it. `system` follows the phone's own light, dark or high-contrast wish. */
export type Look = {
  theme: 'system' | 'day' | 'lamp' | 'glare';
  text: 'normal' | 'large' | 'largest';
  hand: 'right' | 'left';
};

/** Puts the look on the root element, from where the style sheets take it. */
export function applyLook(look: Look, root: HTMLElement): void {
  const set = (name: string, value: string, plain: string) => {
    if (value === plain) delete root.dataset[name];
    else root.dataset[name] = value;
  };
  set('theme', look.theme, 'system');
  set('text', look.text, 'normal');
  set('hand', look.hand, 'right');
}
