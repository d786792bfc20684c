// Every screen that pictures are made of and that is looked over in every theme, on a phone that has joined the demo
// studio. A screen that is not named here is looked at by nobody: name a new one first.
import { appStarted, whole } from '../e2e/harness.mjs';

export const places = {
  frame: '/',
  changes: '/changes',
  book: '/book',
  tray: '/book/tray',
  seen: '/book/seen',
  threads: '/book/threads',
  start: '/book/start',
  bobbins: '/book/bobbins',
  weighed: '/book/weighed',
  bench: '/bench',
  care: '/care',
  'hand-over': '/hand-over',
  technician: '/hand-over/technician',
  station: '/hand-over/station',
  paper: '/paper',
  'drop-strip': '/paper/strip',
  'class-sheet': '/paper/class',
  code: '/book/code',
  people: '/people',
  'codes-show': '/codes/show',
  codes: '/codes',
  help: '/help',
  ruler: '/ruler',
  class: '/class',
};

/** What a phone shows before there is a studio on it. */
export const firstPlaces = { first: '/', code: '/people/join' };

/** Which button of Frame begins a task. */
export const tasks = {
  'drop-test': 'Drop test',
  see: 'What do you see?',
  balance: 'Balance the machine',
  turned: 'I turned something',
  'first-five': 'First five',
  sew: 'Sew two lines',
  'top-feel': 'Feel the top thread',
};

/** What stands in the Book of the demo studio. */
export const entries = { note: 'Border of Orchard rows', recipe: 'Night sky' };

export const themes = ['day', 'lamp', 'glare'];

/** Lets the phone's own wish ask for the theme. */
export async function wear(page, theme) {
  await page.emulateMedia({
    colorScheme: theme === 'lamp' ? 'dark' : 'light',
    contrast: theme === 'glare' ? 'more' : 'no-preference',
  });
}

/** Shows a screen. Where the app runs already it goes there as by a link, which costs an eighth of loading it anew. */
export async function open(page, url, path) {
  if (whole || !(await page.evaluate(goTo, path))) {
    await page.goto(new URL(path, url).href);
    await appStarted(page);
  }
  await page.locator('h1').first().waitFor();
}

/** Runs in the page: whether the app could go there by itself. */
async function goTo(path) {
  if (document.documentElement.dataset.started !== 'yes') return false;
  history.pushState(null, '', path);
  dispatchEvent(new PopStateEvent('popstate'));
  await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
  return true;
}

export async function openEntry(page, url, words) {
  await open(page, url, '/book');
  await page.getByText(words).first().click();
  await page.locator('h1').first().waitFor();
}

export async function openTask(page, url, label) {
  await open(page, url, '/');
  await page.getByRole('button', { name: label, exact: true }).first().click();
  await page.locator('main.task h1').waitFor();
}

/** Opens a task and acknowledges its caution. */
export async function openStep(page, url, label) {
  await openTask(page, url, label);
  const read = page.getByRole('button', { name: 'I have read it' });
  if (!(await read.count())) return;
  await read.click();
  await read.waitFor({ state: 'detached' });
}

/** Joins the demo studio of a server that was started with --demo. */
export async function joinDemo(page, server, name = 'Visitor') {
  const link = /http\S+#\S+/.exec(server.log())?.[0];
  if (!link) throw new Error(`the program printed no invite:\n${server.log()}`);
  await page.goto('about:blank'); // an address that differs after the # only would not load anew
  await page.goto(link);
  await appStarted(page);
  await page.getByLabel(/^.?Your/).fill(name); // a test may mark the words
  await page.locator('button.main-act').click();
  await page.getByText('Orchard rows').first().waitFor({ timeout: 30_000 });
}
