/** The cues beside sound: what the hand feels and what a voice says. Neither is ever the only one. */
import type { Cue } from '../domain/task';

/** Milliseconds on and off. The number of a drop is not felt: nothing is to be done at it. */
const buzzes: { readonly [c in Cue['cue']]?: readonly number[] } = {
  hold: [450],
  shake: [90, 70, 90],
  tick: [60],
  end: [900],
};

/** Whether there may be a vibration: some phones say yes and do nothing. */
export const canBuzz = (): boolean => typeof navigator.vibrate === 'function';

export function buzz(cue: Cue): void {
  const pattern = buzzes[cue.cue];
  if (pattern && canBuzz()) navigator.vibrate([...pattern]);
}

export function stopBuzz(): void {
  if (canBuzz()) navigator.vibrate(0);
}

/** A voice that needs no signal, in the page's language if there is one. */
export function localVoice(): SpeechSynthesisVoice | undefined {
  const voices = globalThis.speechSynthesis?.getVoices().filter((v) => v.localService) ?? [];
  const language = document.documentElement.lang || 'en';
  return voices.find((v) => v.lang.toLowerCase().startsWith(language));
}

export function speak(words: string): void {
  const voice = localVoice();
  if (!voice) return;
  const said = new SpeechSynthesisUtterance(words);
  said.voice = voice;
  said.lang = voice.lang;
  speechSynthesis.cancel();
  speechSynthesis.speak(said);
}

export function stopSpeaking(): void {
  globalThis.speechSynthesis?.cancel();
}
