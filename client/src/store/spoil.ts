/** For tests: spoils the next transaction that writes records, as a full disk or a lost connection would. */

type Abortable = { _abort(name: string | null): void };

const wanted: ('full' | 'lost')[] = [];
let put: typeof IDBObjectStore.prototype.put | undefined;

/** Called twice, it spoils two. Needs fake-indexeddb, whose transactions can be ended from outside. */
export function spoil(reason: 'full' | 'lost'): void {
  wanted.push(reason);
  if (put) return;
  put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (this: IDBObjectStore, value: unknown, key?: IDBValidKey) {
    const request = (put as typeof IDBObjectStore.prototype.put).call(this, value, key);
    const reason = this.name === 'phones' ? wanted.shift() : undefined;
    if (reason)
      (this.transaction as unknown as Abortable)._abort(reason === 'full' ? 'QuotaExceededError' : 'UnknownError');
    return request;
  };
}
