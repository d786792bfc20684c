/** A phone that shares: joins, sends and hears by the sync loop, and says how it stands. */
import type { App } from './app';
import { shown } from './read';
import type { LinkAct, Link as LinkState } from './state';
import type { Link, Store } from './store/store';
import { type Loop, startLoop } from './sync/loop';
import { type Json, newId } from './sync/ops';
import { browserPage } from './sync/page';
import { newKeyPair, publicKeyText } from './sync/sign';
import { Failed, type Joined, transport } from './sync/transport';
import { failure, phoneLabel, studioName } from './text/live';

type Door = Extract<LinkAct, { do: 'join' | 'claim' }>;

/** A code that found no way to the server is kept under this key until there is one. */
const waitingCode = 'waiting code';
/** How long a joining phone waits for the first reading before it says that it goes on. */
const firstReadingMs = 20_000;
/** How long a class code lasts (12 h: a day's class; our choice). */
const classMs = 12 * 3600 * 1000;

export async function goLive(app: App) {
  const store = app.store();
  const web = transport(async (server) => {
    const link = (await store.phone())?.links[server];
    return link && { phone: link.phone, key: (await store.keys(newKeyPair)).privateKey };
  });
  let loop: Loop | undefined;

  const say = (link: Partial<LinkState>) => app.say({ link: { ...app.state.value.link, ...link } });

  async function linkNow(): Promise<Link | undefined> {
    const phone = store.device.studio === '' ? undefined : await store.phone();
    return phone && (phone.links[phone.server] ?? Object.values(phone.links)[0]);
  }

  /** Starts or starts anew the loop of the studio that is entered. */
  async function listen(): Promise<void> {
    await loop?.stop();
    loop = undefined;
    const link = await linkNow();
    if (!link) return;
    const { server, studioName, role, phone } = link;
    const { others, busy } = app.state.value.link;
    app.say({
      person: link.person,
      link: { joined: true, state: 'sending', server, studioName, role, phone, others, busy },
    });
    loop = startLoop(store.device.studio, store, web, browserPage());
    let needs = 0;
    loop.onState((s) => {
      say({ state: s.state, heardAt: s.heardAt, trouble: s.text, more: s.more });
      app.say({ waiting: s.waiting });
      const read = app.state.value.reading && s.state === 'idle' && !s.more; // to its end, maybe with nothing in it
      if (s.needs !== needs || read) void app.changed();
      needs = s.needs;
    });
  }

  /** Resolves once the studio was read whole, or after a while. */
  function firstReading(): Promise<void> {
    return new Promise((resolve) => {
      const done = () => {
        clearTimeout(timer);
        stop?.();
        resolve();
      };
      const timer = setTimeout(done, firstReadingMs);
      const stop = loop?.onState((s) => s.state !== 'sending' && !s.more && done());
    });
  }

  async function enter(door: Door): Promise<void> {
    const name = door.name.trim() || store.device.name;
    const { publicKey } = await store.keys(newKeyPair);
    const phone = { key: await publicKeyText(publicKey), label: phoneLabel(navigator.userAgent) };
    if (door.do === 'claim' && store.device.studio === '') await store.startStudio(name);
    const person = { id: store.device.person, name };
    const before = store.device.studio;
    let joined: Joined;
    if (door.do === 'claim') {
      const title = String(shown(await store.get('studio', before), 'name') ?? '') || studioName(name);
      joined = await web.claim({ code: door.code, person, phone, studio: { id: before, name: title } });
    } else {
      joined = await web.join({
        code: door.code,
        phone,
        person: { ...person, id: person.id || (await freshPerson(store)) },
      });
    }
    await store.saveDevice({ ...store.device, name });
    const { server, studio } = joined;
    await store.saveLink(studio.id, {
      server,
      studioName: studio.name,
      phone: joined.phone,
      person: joined.person,
      role: joined.role,
      joinedAt: Date.now(),
    });
    await app.codeTaken();
    if (studio.id !== before) await store.enterStudio(studio.id);
    await store.saveMeta(waitingCode, null);
    await listen();
    if (studio.id !== before) await firstReading();
    if (door.do === 'join' && door.copy && before !== '' && studio.id !== before)
      await store.copyStudio(before, Date.now());
    await app.entered();
    await others();
  }

  /** What else is on this phone: it stays readable until the person removes it. */
  async function others(): Promise<void> {
    const all = (await store.studios()).filter((s) => s.id !== store.device.studio);
    const counted = await Promise.all(
      all.map(async (s) => [...(await store.kindsOf(s.id)).values()].reduce((a, b) => a + b, 0)),
    );
    say({
      others: all.map(({ id, links, waiting, refused }, i) => ({
        ...{ id, name: links[0]?.studioName ?? '', records: counted[i] ?? 0 },
        ...{ shared: links.length > 0, waiting, refused },
      })),
    });
  }

  /** Tries a door; with no way to the server its code waits here and work goes on. */
  async function tryDoor(door: Door): Promise<void> {
    say({ trouble: undefined, busy: true });
    try {
      await enter(door);
    } catch (e) {
      if (!(e instanceof Failed)) throw e;
      const later = e.kind === 'offline' || e.kind === 'unavailable';
      await store.saveMeta(waitingCode, later ? door : null);
      say({ trouble: later ? undefined : failure(e.kind, e.text), pendingCode: later ? door.code : undefined });
    } finally {
      say({ busy: undefined });
    }
  }

  async function retryDoor(): Promise<void> {
    const door = await store.meta<Door | null>(waitingCode);
    if (!door) return;
    await app.queue(async () => {
      await app.settleTyped();
      await tryDoor(door);
    });
  }

  await listen();
  await others();
  void retryDoor();
  addEventListener('online', () => void retryDoor());

  return {
    /** One act of the person. What it came to, where the screen has something to show of it. */
    act: async (act: LinkAct): Promise<Json | undefined> => {
      const { studio } = store.device;
      try {
        switch (act.do) {
          case 'send-now':
            loop?.poke('hand');
            return undefined;
          case 'claim':
          case 'join':
            await tryDoor(act);
            return undefined;
          case 'invite': {
            const ends = act.kind === 'class' ? { ends: Date.now() + classMs } : {};
            const role = act.kind === 'my-phone' ? {} : { role: act.role };
            const made = await web.invite(studio, { kind: act.kind, ...role, ...ends });
            return { code: made.code, ends: made.ends, kind: made.kind };
          }
          case 'history': {
            const { values, more } = await web.history(studio, act.kind, act.id);
            const before = values.filter(
              (v) => v.field === act.field && !v.live && typeof v.value === 'string' && v.value !== '',
            );
            return { history: act.id, more, before: before.map((v) => ({ text: v.value, by: v.by, at: v.at[0] })) };
          }
          case 'end':
            if (act.phone) await web.end(studio, { phone: act.phone });
            else if (act.person) await web.end(studio, { person: act.person });
            break;
          case 'role':
            await web.giveRole(studio, { person: act.person, role: act.role });
            break;
          case 'enter':
            await store.enterStudio(act.studio);
            app.say({ link: { joined: false, state: 'alone', others: app.state.value.link.others } });
            await listen();
            await app.entered();
            await others();
            return undefined;
          case 'remove':
            await store.removeStudio(act.studio);
            await others();
            return undefined;
        }
        loop?.poke('hand');
      } catch (e) {
        if (!(e instanceof Failed)) throw e;
        say({ trouble: failure(e.kind, e.text) });
      }
      return undefined;
    },
  };
}

/** Who writes on this phone, where it has not written anything yet. */
async function freshPerson(store: Store): Promise<string> {
  const person = newId();
  await store.saveDevice({ ...store.device, person });
  return person;
}
