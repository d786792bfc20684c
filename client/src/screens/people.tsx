/** People & copies: what is only here, who shares it, what needs the person, and how this phone behaves. */
import type { ComponentChildren } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { cleanCode, inFours } from '../code';
import { limits, list, measure, needText, shown } from '../read';
import type { Settings } from '../state';
import { text as codesText } from '../text/codes';
import { text } from '../text/people';
import { ago, notSecure, when } from '../text/shell';
import { tableNames } from '../text/tables';
import { Card, Notice, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { Field } from '../ui/field';
import { Qr } from '../ui/qr';
import { Sure } from '../ui/sure';
import { Switch } from '../ui/tiles';
import { Choice } from './choice';
import { CopyDoor } from './copy-door';
import { JoinForm } from './join-form';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { CueSettings } from './task/cue-sheet';
import { useTry } from './task/use-steady';
import { UpdateRow } from './update-row';

export { Codes } from './codes'; // in the same lazy part

declare const __VERSION__: string;

export function People(props: ScreenProps) {
  const { state, send } = props;
  useEffect(
    () => send({ type: 'load', kinds: ['person', 'phone', 'role', 'ending', 'note', 'recipe'] }),
    [send, state.machine],
  );
  return (
    <AtPlace state={state} place="people">
      <h1>{text.title}</h1>
      <Needs {...props} />
      <Columns
        left={
          <>
            <Copies {...props} />
            <Studio key={`${state.link.joined}`} {...props} />
            <Others {...props} />
          </>
        }
        right={
          <>
            <Kept {...props} />
            <Reading {...props} />
            <Card title={text.about}>
              <a class="button" href="/help">
                {text.help}
              </a>
              <p>{text.version(__VERSION__)}</p>
              <p>{text.caution}</p>
              <a class="button small-act" href="/licences.txt" target="_blank" rel="noreferrer">
                {text.licences}
              </a>
            </Card>
            <UpdateRow state={state} />
          </>
        }
      />
    </AtPlace>
  );
}

/** What no server takes. Its words stay until the person says what becomes of them. */
function Needs({ state, send }: ScreenProps) {
  return (
    <>
      {state.needs.length > 0 && <Refused state={state} send={send} />}
      {state.keptHere.length > 0 && (
        <Card title={text.keptHere}>
          {state.keptHere.map((n) => (
            <div key={n.key}>
              <p class="small-text">{`${when(n.at)}. ${text.needWhy[n.reason] ?? n.reason}`}</p>
              <p class="said">{state.drafts.get(keyOfNeed(n.key)) ?? wordsOf(n.text)}</p>
              <Sure
                label={text.forget}
                question={text.forgetSure}
                yes={text.forgetYes}
                no={text.keepIt}
                onYes={() => send({ type: 'need', key: n.key, do: 'drop' })}
              />
            </div>
          ))}
        </Card>
      )}
    </>
  );
}

function Refused({ state, send }: ScreenProps) {
  return (
    <Card title={text.needs}>
      {state.needs.map((n) => (
        <Again key={n.key} need={n} {...{ state, send }}>
          <button type="button" class="small-act" onClick={() => send({ type: 'need', key: n.key, do: 'keep' })}>
            {text.keepHere}
          </button>
          <button type="button" class="small-act" onClick={() => send({ type: 'save-copy' })}>
            {text.saveCopy}
          </button>
        </Again>
      ))}
    </Card>
  );
}

const keyOfNeed = (key: number) => Object.values(needText(key)).join('/');

/** What no server took. A text can be changed where it stands, and goes out as a new one. */
function Again(props: ScreenProps & { need: ScreenProps['state']['needs'][number]; children: ComponentChildren }) {
  const { state, send, need } = props;
  const prose = proseOf(need.text);
  const typed = state.drafts.get(keyOfNeed(need.key));
  const now = typed ?? prose ?? '';
  const size = measure(now);
  const fits = prose === undefined || (size.units <= limits.noteUnits && size.bytes <= limits.noteBytes);
  return (
    <>
      <Notice kind="stop" text={`${when(need.at)}. ${text.needWhy[need.reason] ?? need.reason}`} />
      {prose === undefined ? (
        <p class="said">{wordsOf(need.text)}</p>
      ) : (
        <Field
          label={text.itsText}
          kind="long"
          value={now}
          error={fits ? undefined : text.tooLong(size.units - limits.noteUnits)}
          onInput={(t) => send({ type: 'typed', ...needText(need.key), text: t })}
        />
      )}
      <div class="acts">
        <button
          type="button"
          class="small-act"
          disabled={!fits}
          onClick={() =>
            send({ type: 'need', key: need.key, do: 'retry', ...(prose === undefined ? {} : { text: now }) })
          }
        >
          {text.tryAgain}
        </button>
        {props.children}
      </div>
    </>
  );
}

/** The long text that an op sets, as it was typed; undefined where it sets none. */
function proseOf(op: string): string | undefined {
  try {
    const { set } = JSON.parse(op) as { set: { text?: unknown } };
    return typeof set.text === 'string' ? set.text : undefined;
  } catch {
    return undefined;
  }
}

/** The words in an op, as they were typed. */
function wordsOf(op: string): string {
  try {
    const { set } = JSON.parse(op) as { set: { [field: string]: unknown } };
    return Object.values(set)
      .filter((v): v is string => typeof v === 'string')
      .join('\n');
  } catch {
    return op;
  }
}

function Copies({ state, send }: ScreenProps) {
  return (
    <Card title={text.copies}>
      {state.copiedAt === 0 ? (
        <p>{text.neverCopied(state.copies)}</p>
      ) : (
        <>
          <p>{text.copied(ago(state.copiedAt, Date.now()))}</p>
          <p>{text.sinceCopy(state.copies)}</p>
        </>
      )}
      <button type="button" class="paired wide" onClick={() => send({ type: 'save-copy' })}>
        {text.saveCopy}
      </button>
      <CopyDoor state={state} send={send} label={text.openCopy} look="wide" />
      <p class="small-text">{text.copyNote}</p>
      <h3>{codesText.title}</h3>
      <div class="acts">
        <a class="button" href="/codes/show">
          {codesText.show}
        </a>
        <a class="button" href="/codes">
          {codesText.read}
        </a>
      </div>
      <h3>{text.tables}</h3>
      <div class="acts">
        {tableNames.map((table) => (
          <button key={table} type="button" onClick={() => send({ type: 'save-table', table })}>
            {text.table[table]}
          </button>
        ))}
      </div>
    </Card>
  );
}

function Studio(props: ScreenProps) {
  const { state, send } = props;
  const [door, setDoor] = useState<'none' | 'join' | 'claim'>('none');
  const { link, brought } = state;
  useEffect(() => {
    if (brought) setDoor(brought.claim ? 'claim' : 'join');
  }, [brought]);
  if (!link.joined)
    return (
      <Card title={text.studio}>
        {door === 'none' ? (
          <>
            <p>{text.alone}</p>
            <div class="acts">
              <button type="button" onClick={() => setDoor('join')}>
                {text.join}
              </button>
              <button type="button" onClick={() => setDoor('claim')}>
                {text.claim}
              </button>
            </div>
            {link.pendingCode && <p role="status">{text.waitsForSignal(inFours(link.pendingCode))}</p>}
          </>
        ) : (
          <JoinForm {...props} claim={door === 'claim'} onLeave={() => setDoor('none')} />
        )}
      </Card>
    );
  return (
    <Card title={link.studioName || text.studio}>
      <p>
        {text.states[link.state]} {link.heardAt && text.heard(ago(link.heardAt, Date.now()))}
      </p>
      {link.trouble && <p role="alert">{link.trouble}</p>}
      <button type="button" onClick={() => send({ type: 'link', do: { do: 'send-now' } })}>
        {text.sendNow}
      </button>
      <Everyone {...props} />
      {link.role === 'keeper' && <Invites {...props} />}
      {door === 'none' ? (
        <button type="button" class="small-act" onClick={() => setDoor('join')}>
          {link.state === 'refused' ? text.joinAgain : text.joinOther}
        </button>
      ) : (
        <JoinForm {...props} onLeave={() => setDoor('none')} />
      )}
    </Card>
  );
}

/** Studios that are on this phone beside the one that is shown: readable until the person removes them. */
function Others({ state, send }: ScreenProps) {
  const others = state.link.others ?? [];
  if (others.length === 0) return null;
  return (
    <Card title={text.others}>
      {others.map((o) => (
        <div key={o.id}>
          <Row title={o.name || text.unnamed} detail={text.studioHolds(o)} />
          <div class="acts">
            <button type="button" onClick={() => send({ type: 'link', do: { do: 'enter', studio: o.id } })}>
              {text.openStudio}
            </button>
          </div>
          <Sure
            label={text.removeStudio(o.records)}
            question={text.removeSure(o)}
            yes={text.removeYes}
            no={text.keepIt}
            onYes={() => send({ type: 'link', do: { do: 'remove', studio: o.id } })}
          />
        </div>
      ))}
    </Card>
  );
}

function Everyone({ state, send }: ScreenProps) {
  const roles = list(state.rows, 'role');
  const endings = list(state.rows, 'ending');
  const ended = (id: string) => endings.some((e) => shown(e, 'phone') === id || shown(e, 'person') === id);
  const keeper = state.link.role === 'keeper';
  return (
    <>
      <h3>{text.people}</h3>
      {list(state.rows, 'person').map((p) => {
        const role = roles.findLast((r) => shown(r, 'person') === p.id);
        const has = String(shown(role, 'role') ?? '') as Role;
        const name = String(shown(p, 'name') ?? '');
        return (
          <div key={p.id}>
            <Row title={name} detail={ended(p.id) ? text.ended : text.roles[has]} />
            {keeper && p.id !== state.person && !ended(p.id) && (
              <>
                <Choice
                  name={`role-${p.id}`}
                  legend={text.mayDo(name)}
                  names={text.roles}
                  chosen={[has]}
                  onChoose={(role, on) => on && send({ type: 'link', do: { do: 'role', person: p.id, role } })}
                />
                <Sure
                  label={text.endPerson(name)}
                  question={text.endSure(name)}
                  yes={text.endYes}
                  no={text.endNo}
                  onYes={() => send({ type: 'link', do: { do: 'end', person: p.id } })}
                />
              </>
            )}
          </div>
        );
      })}
      <h3>{text.phones}</h3>
      {list(state.rows, 'phone').map((p) => (
        <div key={p.id}>
          <Row
            title={phoneName(String(shown(p, 'label') ?? ''), p.id === state.link.phone)}
            detail={ended(p.id) ? text.ended : undefined}
            end={when(p.t)}
          />
          {keeper && !ended(p.id) && (
            <Sure
              label={p.id === state.link.phone ? text.endOwn : text.endPhone(String(shown(p, 'label') ?? ''))}
              question={p.id === state.link.phone ? text.endOwnSure : text.endPhoneSure}
              yes={text.endYes}
              no={text.endNo}
              onYes={() => send({ type: 'link', do: { do: 'end', phone: p.id } })}
            />
          )}
        </div>
      ))}
    </>
  );
}

const phoneName = (label: string, own: boolean) => (own ? text.thisOne(label) : label);

type Role = keyof typeof text.roles;
type Made = { readonly code: string; readonly ends: number };

function Invites({ state, send }: ScreenProps) {
  const [role, setRole] = useState<Role>('operator');
  const made = state.said as Made | undefined;
  const invite = (kind: 'person' | 'my-phone' | 'class') => send({ type: 'link', do: { do: 'invite', kind, role } });
  return (
    <>
      <h3>{text.invite}</h3>
      <Choice name="role" legend={text.inviteRole} names={text.roles} chosen={[role]} onChoose={(id) => setRole(id)} />
      <div class="acts">
        <button type="button" onClick={() => invite('person')}>
          {text.invitePerson}
        </button>
        <button type="button" onClick={() => invite('my-phone')}>
          {text.invitePhone}
        </button>
        <button type="button" onClick={() => invite('class')}>
          {text.inviteClass}
        </button>
      </div>
      {typeof made === 'object' && made?.code && (
        <div role="status">
          <p class="code">{inFours(made.code)}</p>
          <p>{text.inviteEnds(when(made.ends))}</p>
          <Qr
            text={`${location.origin}/people/join#${cleanCode(made.code)}`}
            label={text.qrLabel}
            instead={text.qrInstead}
          />
        </div>
      )}
    </>
  );
}

const tenth = new Intl.NumberFormat(undefined, { maximumFractionDigits: 1 });

function Kept({ state, send }: ScreenProps) {
  const { storage } = state;
  const size = (n: number) => (n < 1e9 ? `${tenth.format(n / 1e6)} MB` : `${tenth.format(n / 1e9)} GB`);
  return (
    <Card title={text.storage}>
      {!isSecureContext && <p>{notSecure}</p>}
      <p>{storage.kept === undefined ? text.unknownKept : storage.kept ? text.kept : text.notKept}</p>
      {storage.used !== undefined && storage.allowed !== undefined && (
        <p>{text.used(size(storage.used), size(storage.allowed))}</p>
      )}
      <p>{storage.installed ? text.installed : text.notInstalled}</p>
      {!storage.kept && (
        <button type="button" onClick={() => send({ type: 'keep-storage' })}>
          {text.askKeep}
        </button>
      )}
    </Card>
  );
}

function Reading({ state, send }: ScreenProps) {
  const { settings } = state;
  const set = (more: Partial<Settings>) => send({ type: 'settings', set: more });
  const tryCue = useTry();
  return (
    <Card title={text.reading}>
      <Choice
        name="theme"
        legend={text.theme}
        names={text.themes}
        chosen={[settings.theme]}
        onChoose={(theme) => set({ theme })}
      />
      <Choice
        name="size"
        legend={text.size}
        names={text.sizes}
        chosen={[settings.text]}
        onChoose={(size) => set({ text: size })}
      />
      <Choice
        name="hand"
        legend={text.hand}
        names={text.hands}
        chosen={[settings.hand]}
        onChoose={(hand) => set({ hand })}
      />
      <Choice
        name="units"
        legend={text.units}
        names={text.unitNames}
        chosen={[settings.units]}
        onChoose={(units) => set({ units })}
      />
      <h3>{text.cues}</h3>
      <CueSettings settings={settings} send={send} tryCue={tryCue} />
      <Switch label={text.gauge} on={settings.gauge} onSwitch={(gauge) => set({ gauge })} />
    </Card>
  );
}
