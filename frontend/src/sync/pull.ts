// Brings what others wrote. `pull()` follows the change feed from where it last stopped; what is not sent yet stays
// laid over it. When the server's key changes (what this person may see is another now), everything is fetched anew
// and swapped in one transaction; nothing is taken out of the outbox. The key is another too when the server has gone
// back, as after it was restored from a backup: then what this person had written, and the server has lost, goes to it
// again (giveBack.ts), and photos that it awaits, and that were sent from this phone, are offered again (sentPhotos.ts).

import type { RecordRow, Store } from "../db";
import type { Derived, Id, JsonObject, Kind, Moment } from "../types";
import { NoAnswer } from "./api";
import { giveBack, missingEntries } from "./giveBack";
import { filesOf, liesOver, overlay } from "./outbox";
import { noLongerLost, offerAgain } from "./sentPhotos";
import { type SendContext, stayHere, type Stop, stopOf, withRenewal } from "./send";
import { settleRead } from "./settle";

interface Change {
  seq: number;
  kind: Kind;
  id: Id;
  revision: Id;
  withdrawn: boolean;
  happened_at: Moment;
  received_at: Moment;
  made_by: Id;
  document: JsonObject;
  derived?: Derived;
}

interface ChangesAnswer {
  answer: "changes";
  key: string;
  cursor: number;
  mark?: Id | null;
  gone_back?: boolean;
  more: boolean;
  changes: Change[];
}

interface Cursor {
  key: string;
  after: number;
  /** By which the server knows the place again. */
  mark?: Id | null;
}

const PAGE = 500;

export async function pull(context: SendContext, production: Id): Promise<{ stop: Stop; received: number }> {
  const { db } = context;
  const name = `cursor:${production}`;
  let cursor = (await db.getMeta<Cursor>(name)) ?? { key: "", after: 0 };
  let fresh: Change[] | null = cursor.key === "" ? [] : null;
  let received = 0;
  let goneBack = false;
  for (;;) {
    let answer: ChangesAnswer;
    let another: boolean;
    try {
      answer = await withRenewal(context, () => fetchPage(context, production, cursor));
      another = cursor.after > 0 && answer.key !== cursor.key;
      // The role may be another: what is shown and offered goes by the session.
      if (another) await context.renew();
    } catch (error) {
      return { stop: stopOf(error), received };
    }
    if (another) {
      cursor = { key: answer.key, after: 0 };
      fresh = [];
      goneBack ||= answer.gone_back === true;
      continue;
    }
    cursor = { key: answer.key, after: answer.cursor, mark: answer.mark ?? null };
    received += answer.changes.length;
    try {
      if (fresh) {
        fresh.push(...answer.changes);
        // Nothing here is replaced before what was lost is known; until then all is read again.
        const missing = !answer.more && goneBack ? await missingEntries(context, production) : null;
        if (!answer.more) await replaceAll(context, production, fresh, name, cursor, missing);
      } else {
        await db.transaction("rw", [db.records, db.outbox, db.meta, db.photoIndex, db.photoBytes, db.sentPhotos, db.sentBytes], async () => {
          await stayHere(context);
          await apply(db, production, answer.changes);
          await db.setMeta(name, cursor);
        });
        if (!answer.more) await settleRead(db, production);
      }
    } catch (error) {
      return { stop: stopOf(error), received };
    }
    if (!answer.more) return { stop: "done", received };
  }
}

async function fetchPage(context: SendContext, production: Id, { after, mark }: Cursor): Promise<ChangesAnswer> {
  const known = after && mark ? `&mark=${mark}` : "";
  const answer = await context.api.get<ChangesAnswer>(`/api/productions/${production}/changes?after=${after}&limit=${PAGE}${known}`, "changes");
  if (!Array.isArray(answer.changes) || typeof answer.cursor !== "number" || typeof answer.key !== "string") throw new NoAnswer("odd", 200);
  // A page that promises more without moving on would be asked for without end.
  if (answer.more && answer.cursor <= after) throw new NoAnswer("odd", 200);
  return answer;
}

async function apply(db: Store, production: Id, changes: Change[]): Promise<void> {
  const unsent = await unsentRows(db, production);
  await db.records.bulkPut(changes.map((change) => toRow(production, change, unsent)));
  const files = changes.flatMap(({ derived }) => Object.entries(derived?.files ?? {}));
  const that = (are: string): string[] => files.filter(([, state]) => state === are).map(([sha256]) => sha256);
  await offerAgain(db, production, that("awaited"));
  await noLongerLost(db, production, that("stored"));
}

async function unsentRows(db: Store, production: Id) {
  const rows = (await db.outbox.orderBy("seq").toArray()).filter((row) => row.production === production && (row.state === "set_aside" || liesOver(row)));
  return groupRows(rows);
}

function groupRows<T extends { record: Id }>(rows: T[]): Map<Id, T[]> {
  const groups = new Map<Id, T[]>();
  for (const row of rows) groups.set(row.record, [...(groups.get(row.record) ?? []), row]);
  return groups;
}

function toRow(production: Id, change: Change, unsent: Awaited<ReturnType<typeof unsentRows>>): RecordRow {
  return {
    production, id: change.id, kind: change.kind, server: change.document, derived: change.derived ?? {},
    server_withdrawn: change.withdrawn, revision: change.revision, made_by: change.made_by,
    happened_at: change.happened_at, received_at: change.received_at, seq: change.seq,
    ...overlay(change.document, change.withdrawn, unsent.get(change.id) ?? []),
  };
}

/** `missing`: the entries that the server has lost, if it has gone back. */
async function replaceAll(
  context: SendContext, production: Id, changes: Change[], name: string, cursor: Cursor, missing: ReadonlySet<Id> | null,
): Promise<void> {
  const { db, mayGiveBack } = context;
  const tables = [db.records, db.outbox, db.meta, db.photoIndex, db.photoBytes, db.thumbs, db.larges, db.sentPhotos, db.sentBytes, db.sentEntries];
  await db.transaction("rw", tables, async () => {
    await stayHere(context);
    const old = await db.records.where("[production+kind]").between([production, ""], [production, "\uffff"]).toArray();
    if (missing && mayGiveBack) await giveBack(db, production, new Map(changes.map((change) => [change.id, change])), missing, mayGiveBack);
    const unsent = await unsentRows(db, production);
    await db.records.bulkDelete(old.map((row) => [production, row.id]));
    // What only this phone knows yet, or again, is kept.
    await db.records.bulkPut(old.flatMap((row) => {
      const rows = unsent.get(row.id);
      return rows?.[0]?.based_on === null ? { ...row, server: null, server_withdrawn: false, revision: null, seq: 0, ...overlay(null, false, rows) } : [];
    }));
    await apply(db, production, changes);
    await dropPictures(db, production, changes, missing !== null);
    // It may lack the file of a photo that it believes to have: asked once of each that is still here.
    if (missing) await offerAgain(db, production, [], changes.flatMap(({ document }) => filesOf(document)));
    await db.setMeta(name, cursor);
  });
}

/** Pictures of photos that this person is not told of stay on the phone no longer. */
async function dropPictures(db: Store, production: Id, changes: Change[], goneBack: boolean): Promise<void> {
  const kept = new Set((await db.photoIndex.toArray()).map((photo) => photo.sha256));
  for (const { document } of changes) for (const sha256 of filesOf(document)) kept.add(sha256);
  // What a restored server is not told of yet may come to it again.
  for (const table of [db.thumbs, db.larges, ...(goneBack ? [] : [db.sentPhotos, db.sentBytes])]) {
    const keys = await table.where("[production+sha256]").between([production, ""], [production, "\uffff"]).primaryKeys();
    await table.bulkDelete(keys.filter(([, sha256]) => !kept.has(sha256)));
  }
}
