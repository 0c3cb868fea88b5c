// Live views of the records on this phone. Read them in markup or in $derived; they follow every change, from this
// tab, another tab or the server.
//
//   const copies = recordsOf("copy");        copies.list (withdrawn left out) · copies.all · copies.get(id) · copies.ready
//   const sheet = record("application", id);  sheet.current (undefined until found)
//
// Always of the production that is chosen. `unsentOf(recordId)` says whether something of it is still to be sent.

import { liveQuery } from "dexie";
import { createSubscriber } from "svelte/reactivity";
import { db } from "../db";
import { zoneOf } from "../domain/moment";
import { shootDate } from "../domain/shootDate";
import { session } from "../sync/session.svelte";
import type { Day, Id, Kind, Rec } from "../types";

class Live<T> {
  #value: T;
  #ready = false;
  readonly #subscribe: () => void;

  constructor(empty: T, query: () => Promise<T>) {
    this.#value = empty;
    this.#subscribe = createSubscriber((changed) => {
      const subscription = liveQuery(query).subscribe((value) => {
        this.#value = value;
        this.#ready = true;
        changed();
      });
      return () => subscription.unsubscribe();
    });
  }

  get value(): T {
    this.#subscribe();
    return this.#value;
  }

  get ready(): boolean {
    this.#subscribe();
    return this.#ready;
  }
}

/** A live query of any shape: `live([], () => db...)`; `.value`, `.ready`. */
export function live<T>(empty: T, query: () => Promise<T>): { readonly value: T; readonly ready: boolean } {
  return new Live(empty, query);
}

interface Rows<K extends Kind> { all: Rec<K>[]; list: Rec<K>[]; byId: Map<Id, Rec<K>> }

export class Records<K extends Kind> {
  readonly #views = new Map<Id, Live<Rows<K>>>();

  constructor(private readonly kind: K) {}

  get #live(): Live<Rows<K>> {
    const production = session.chosen ?? "";
    let view = this.#views.get(production);
    if (!view) {
      view = new Live<Rows<K>>({ all: [], list: [], byId: new Map() }, async () => {
        const all = (await db.records.where("[production+kind]").equals([production, this.kind]).toArray()) as unknown as Rec<K>[];
        return { all, list: all.filter((row) => !row.withdrawn), byId: new Map(all.map((row) => [row.id, row])) };
      });
      this.#views.set(production, view);
    }
    return view;
  }

  get list(): Rec<K>[] { return this.#live.value.list; }
  get all(): Rec<K>[] { return this.#live.value.all; }
  get ready(): boolean { return this.#live.ready; }
  get(id: Id | undefined | null): Rec<K> | undefined { return id ? this.#live.value.byId.get(id) : undefined; }
}

/** Whether these kinds have been read: until then a name would be "not known here" though it is. All are read at once. */
export const allReady = (...kinds: Kind[]): boolean => kinds.map((kind) => recordsOf(kind).ready).every(Boolean);

const views = new Map<Kind, Records<Kind>>();

export function recordsOf<K extends Kind>(kind: K): Records<K> {
  let view = views.get(kind);
  if (!view) views.set(kind, (view = new Records<Kind>(kind)));
  return view as unknown as Records<K>;
}

export function record<K extends Kind>(kind: K, id: Id): { readonly current: Rec<K> | undefined; readonly ready: boolean } {
  const records = recordsOf(kind);
  return {
    get current() { return records.get(id); },
    get ready() { return records.ready; },
  };
}

const unsent = live(new Set<Id>(), async () => new Set((await db.outbox.toArray()).filter((row) => row.state !== "set_aside").map((row) => row.record)));

/** Whether something of this record is not sent yet. */
export const unsentOf = (id: Id): boolean => unsent.value.has(id);

const everyMinute = createSubscriber((update) => {
  const timer = setInterval(update, 60_000);
  return () => clearInterval(timer);
});

const onSet = $derived.by(() => {
  everyMinute();
  return shootDate(zone(), recordsOf("shoot_day").list.map((row) => row.document));
});

/** The date on set: also after midnight, while a night shoot goes on, the one on which it began. */
export const todayOnSet = (): Day => onSet;

/** The production's time zone; the phone's own until the production's record is here. */
export function zone(): string {
  return zoneOf(recordsOf("production").get(session.chosen)?.document);
}
