// How much is still to go, and the words for it. Until the phone's store has answered once nothing is known, and nothing
// is claimed: "All sent" is what people go by before they put the phone away.

import { liveQuery, type Subscription } from "dexie";
import type { Store } from "../db";

export interface UnsentCounts {
  /** Entries and photos still to go. */
  notSent: number;
  /** Refused for good. */
  needsYou: number;
}

/** Calls `onCounts` with what is on the phone, first as soon as it has been read, then after every change. */
export function watchUnsent(db: Store, onCounts: (counts: UnsentCounts) => void): Subscription {
  return liveQuery(async () => {
    const photos = await db.photoIndex.toArray();
    return {
      notSent: (await db.outbox.where("state").equals("waiting").count()) + photos.filter((row) => row.state === "waiting").length,
      needsYou: (await db.outbox.where("state").equals("refused").count()) + photos.filter((row) => row.state === "unreadable").length,
    };
  }).subscribe(onCounts);
}

/** What is said of it at the top of every screen; null while nothing has been counted. */
export function unsentWords(counts: UnsentCounts | null): string {
  if (!counts) return "Counting…";
  if (counts.notSent) return `${counts.notSent} not sent yet`;
  return counts.needsYou ? "Nothing waiting" : "All sent";
}
