import type { ComponentChildren } from 'preact';
import './tab-bar.css';

/** `needs` is a word such as "2 need you", shown in the tab itself. */
export type Tab = { id: string; label: string; href: string; needs?: string };

/** The places, as the index tabs of a card box: at the foot of a phone, at the left of a wide screen. */
export function TabBar(props: { label: string; tabs: readonly Tab[]; current: string }) {
  return (
    <nav class="tab-bar" aria-label={props.label}>
      {props.tabs.map((tab) => (
        <a key={tab.id} href={tab.href} aria-current={tab.id === props.current ? 'page' : undefined}>
          {tab.label}
          {tab.needs && <b>{tab.needs}</b>}
        </a>
      ))}
    </nav>
  );
}

/** A screen with its tab bar: keeps clear of the bar wherever it stands. */
export function Place(props: { bar: ComponentChildren; strip?: ComponentChildren; children: ComponentChildren }) {
  return (
    <div class="place">
      {props.bar}
      <main class="screen">
        {props.strip}
        {props.children}
      </main>
    </div>
  );
}

/** One line that answers: is it safe, and do I have theirs? `parts` stand side by side; tapping opens the list. */
export function StatusStrip(props: { parts: readonly { text: string; needs?: boolean }[]; href: string }) {
  return (
    <a class="status-strip" href={props.href}>
      {props.parts.map((part) => (
        <span key={part.text} class={part.needs ? 'needs' : undefined}>
          {part.text}
        </span>
      ))}
    </a>
  );
}
