/** The shapes of the fault model's tables. */

/**
 * One cause. Shares and chances are estimates by hand from bench and frame experience, with no published source: a
 * starting opinion, never shown to a person as measured.
 */
export type Cause = {
  readonly who: 'operator' | 'technician'; // who mends it
  readonly minutes: number; // to mend it
  readonly wrong: number; // share of complaints on a machine that worked and then went wrong, in hundredths of a percent
  readonly changed: number; // and on one just threaded or changed
  /** Chance of each state of a finding where this cause is at work alone, in ten-thousandths, in the order of the states. */
  readonly shows: { readonly [finding: string]: readonly number[] };
};

/** What a finding costs, and its states where no listed cause bears on it. */
export type Look = {
  readonly kind: 'symptom' | 'test' | 'context'; // look and listen, do something, ask
  readonly minutes: number;
  /** `cure`: a swap, which must mend both of two causes before it says "cured". Else the causes speak independently. */
  readonly joins?: 'cure';
  readonly base: readonly number[]; // in ten-thousandths, in the order of the states
};

/** Something to do. */
export type Act = {
  readonly kind: 'adjust' | 'fix' | 'clean' | 'replace' | 'practice' | 'check' | 'stop';
  readonly minutes: number;
  readonly lasting?: true; // it can't simply be undone
  readonly tells: readonly string[]; // findings that doing it answers
  readonly mends: { readonly [cause: string]: number }; // how often it mends that cause, in hundredths
};

export type Tables = {
  readonly version: number; // goes up when a number in the tables changes
  readonly causes: { readonly [cause: string]: Cause };
  readonly states: { readonly [finding: string]: readonly string[] }; // normal first
  readonly looks: { readonly [finding: string]: Look };
  readonly acts: { readonly [act: string]: Act };
  /** Findings that say almost the same thing. */
  readonly alike: readonly (readonly string[])[];
  /** Causes that come together more often than chance: by how much. */
  readonly together: readonly (readonly [cause: string, cause: string, times: number])[];
};
