// Of which day pictures are fetched ahead. Cases constructed here.

import "fake-indexeddb/auto";
import { expect, test } from "vitest";
import { Store } from "../../src/db";
import { newId } from "../../src/domain/id";
import { dateOnSet } from "../../src/store/ahead";
import { write } from "../../src/sync/outbox";

test("after midnight they are of the night that goes on, in the production's time zone", async () => {
  const production = newId();
  const author = { production, crew: newId() };
  const db = new Store(`test-${newId()}`);
  // In Auckland it is 13 hours later than UTC in January.
  await write(db, author, "production", null, { name: "The Long Winter", time_zone: "Pacific/Auckland" }, { id: production });
  await write(db, author, "shoot_day", null, { date: "2026-01-14", unit: newId(), crew_call: "17:00", wrap: "03:00" });
  expect(await dateOnSet(db, production, new Date("2026-01-14T11:30:00Z"))).toBe("2026-01-14");
  expect(await dateOnSet(db, production, new Date("2026-01-14T15:59:00Z"))).toBe("2026-01-14");
  expect(await dateOnSet(db, production, new Date("2026-01-14T16:00:00Z"))).toBe("2026-01-15");
  await db.delete();
});
