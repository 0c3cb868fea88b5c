// A server that was restored from a backup gets again what it has lost.

import type { RecordRow, Store } from "../db";
import { newId } from "../domain/id";
import { diffPatch } from "../domain/mergePatch";
import type { Id, JsonObject, Moment } from "../types";

/** What of a record a restored server has. */
export interface Restored {
  revision: Id;
  received_at: Moment;
  seq: number;
  document: JsonObject;
}

/**
 * The server was restored from a backup and has lost what was written last to these records: it goes there again, before
 * whatever of them is not sent yet. `now` is what the server has. Each entry has the id of the one that was lost, so that
 * what is based on that fits, and two phones of one person that both do this say the same. Call inside a transaction.
 */
export async function giveBack(db: Store, production: Id, records: RecordRow[], now: ReadonlyMap<Id, Restored>): Promise<void> {
  const rows = await db.outbox.orderBy("seq").toArray();
  const known = new Set(rows.map((row) => row.id));
  let place = rows[0]?.seq ?? 1;
  // A place in the feed as it was says nothing of the feed as it is.
  for (const row of rows) if (row.production === production && !row.frozen) await db.outbox.update(row.seq!, { seen: 0 });
  for (const record of [...records].sort((one, other) => other.seq - one.seq)) {
    const { id, kind, server, revision, made_by, happened_at } = record;
    const left = now.get(id);
    // What somebody wrote later, on what the server has, stands.
    const isLost = !left || (left.revision !== revision && left.received_at <= (record.received_at ?? left.received_at));
    if (!isLost || !server || !revision || record.server_withdrawn || known.has(revision)) continue;
    const give = async (entry: Id, basedOn: Id | null, patch: JsonObject): Promise<void> => {
      place -= 1;
      await db.outbox.add({
        seq: place, id: entry, production, kind, record: id, based_on: basedOn, seen: left?.seq ?? 0, happened_at, made_by, patch,
        state: "waiting", frozen: true, attempts: 0, next_at: 0,
      });
    };
    if (left) {
      await give(revision, left.revision, diffPatch(left.document, server));
    } else if (server.established) {
      // The sheet that a look is held to names the look: the look goes first, and says afterwards what it is held to.
      const { established, established_reason: reason, ...first } = server;
      await give(newId(), revision, { established, ...(reason === undefined ? {} : { established_reason: reason }) });
      await give(revision, null, first);
    } else {
      await give(revision, null, server);
    }
  }
}
