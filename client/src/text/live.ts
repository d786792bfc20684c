/** What is said of the studio's server, where it has no words of its own. */
import type { FailureKind } from '../sync/http';

const sentences: { readonly [kind in FailureKind]?: string } = {
  offline: 'No way to the studio just now. Nothing is lost; try again where there is signal.',
  strange: 'Something answered, but not the studio’s server. A log-in page of this network may stand between.',
  insecure: 'This page was not opened over https, so this phone can’t join. Ask for the https address.',
  'unknown-server': 'Another server answers at this address. This phone has not joined it: ask there for a code.',
  'server-too-old':
    'The studio’s server is older than this app. Work goes on here; it is sent once the server is updated.',
  'too-old': 'The studio needs a newer Evenpull. Load the page again to update; work goes on here.',
  denied: 'The studio does not let this phone in. Ask a keeper for a new code.',
  'too-many': 'Too many tries with wrong codes. Wait a little, then try again.',
};

/** The server's own sentence goes first; ours where it has none. */
export const failure = (kind: FailureKind, text: string): string =>
  text ||
  (Object.hasOwn(sentences, kind) && sentences[kind]) ||
  'That did not work. Nothing is lost; try again in a little while.';

/** What a studio is called until somebody says otherwise. */
export const studioName = (person: string): string => (person ? `${person}’s studio` : 'Our studio');

/** What this phone is called in the list of phones. */
export function phoneLabel(agent: string): string {
  if (/iPhone|iPad/.test(agent)) return 'iPhone or iPad';
  if (/Android/.test(agent)) return 'Android phone';
  return 'Computer';
}
