/** What a sewn line shows, by its score. */
export const scoreSays: { readonly [score: number]: string } = {
  [-2]: 'bobbin colour stands up on top',
  [-1]: 'bobbin dots on top',
  0: 'good',
  1: 'top dots on the back',
  2: 'top colour stands up on the back',
};
