// What is said of the things not sent yet. Cases constructed here.

import "fake-indexeddb/auto";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { Store } from "../src/db";
import { newId } from "../src/domain/id";
import { write } from "../src/sync/outbox";
import { type UnsentCounts, unsentWords, watchUnsent } from "../src/sync/unsent";

const author = { production: newId(), crew: newId() };
let db: Store;
let stop: (() => void) | undefined;
let said: string[];
let counts: UnsentCounts | null;

/** What the top of the screen says from the moment the app is opened. */
function open(): void {
  counts = null;
  said = [unsentWords(counts)];
  const subscription = watchUnsent(db, (answer) => {
    counts = answer;
    said.push(unsentWords(counts));
  });
  stop = () => subscription.unsubscribe();
}
const photo = async (sha256: string): Promise<void> => {
  const row = { production: author.production, sha256, application: newId(), media_type: "image/jpeg" as const, size: 1, received: 0, attempts: 0, next_at: 0, added_at: 0 };
  await db.photoIndex.add({ ...row, state: "waiting" });
};

beforeEach(() => {
  db = new Store(`test-${newId()}`);
});
afterEach(async () => {
  stop?.();
  await db.delete();
});

test("while nothing has been counted, nothing is claimed: an unsent sheet is never called sent", async () => {
  await write(db, author, "application", null, { look: "l" });
  open();
  expect(said).toEqual(["Counting…"]);
  await vi.waitFor(() => expect(counts).not.toBeNull());
  expect(said).toEqual(["Counting…", "1 not sent yet"]);
});

test("all is sent only once the phone has been looked through and holds nothing", async () => {
  open();
  await vi.waitFor(() => expect(said).toEqual(["Counting…", "All sent"]));
  await write(db, author, "copy", null, { serial: "CB-1" });
  await vi.waitFor(() => expect(said.at(-1)).toBe("1 not sent yet"));
});

test("photos count, and what was refused or cannot be read is not called sent", async () => {
  const record = await write(db, author, "copy", null, { serial: "CB-1" });
  await photo("a");
  open();
  await vi.waitFor(() => expect(said.at(-1)).toBe("2 not sent yet"));
  await db.outbox.where("[production+record]").equals([author.production, record]).modify({ state: "refused" });
  await db.photoIndex.toCollection().modify({ state: "unreadable" });
  await vi.waitFor(() => expect(said.at(-1)).toBe("Nothing waiting"));
  expect(counts).toEqual({ notSent: 0, needsYou: 2 });
});
