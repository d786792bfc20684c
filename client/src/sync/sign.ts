/** A phone's key pair and what it signs. The private key never leaves the browser. */
import { utf8ToBytes } from '@noble/hashes/utils.js';
import { Failed } from './http';

const curve = { name: 'ECDSA', namedCurve: 'P-256' };

function subtle(): SubtleCrypto {
  if (!globalThis.crypto?.subtle) throw new Failed('insecure');
  return crypto.subtle;
}

/** A new P-256 pair; its private key can't be taken out. Throws Failed 'insecure' on a page without https. */
export async function newKeyPair(): Promise<CryptoKeyPair> {
  return subtle().generateKey(curve, false, ['sign', 'verify']);
}

/** The public key as servers take it: 65 raw bytes, base64url. */
export async function publicKeyText(key: CryptoKey): Promise<string> {
  return base64url(new Uint8Array(await subtle().exportKey('raw', key)));
}

/** The signature that signs a phone in: over the challenge and the id of the server that gave it. */
export async function signChallenge(key: CryptoKey, server: string, challenge: string): Promise<string> {
  const text = `evenpull sign in\n${server}\n${challenge}`;
  return base64url(
    new Uint8Array(await subtle().sign({ name: 'ECDSA', hash: 'SHA-256' }, key, utf8ToBytes(text) as BufferSource)),
  );
}

export function base64url(bytes: Uint8Array): string {
  return btoa(String.fromCharCode(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replaceAll('=', '');
}
