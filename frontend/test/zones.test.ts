// The zones offered for an adhesive. Cases constructed here.

import { expect, test } from "vitest";
import { STANDARD_ZONES, zonesFor } from "../src/domain/zones";

const sheet = (id: string, look: string, started_at: string, ...zones: string[]) => ({
  id, happened_at: started_at, document: { look, started_at, adhesives: Object.fromEntries(zones.map((zone, index) => [`${id}${index}`, { zone, material: "m" }])) },
});
const earlier = [
  sheet("a", "brow", "2026-03-02T06:00:00Z", "edge", "Under the piece"),
  sheet("b", "brow", "2026-03-04T06:00:00Z", "Edge", "Temple"),
  sheet("c", "scar", "2026-03-05T06:00:00Z", "Cheek"),
];

test("the zones of the look's earlier sheets are offered, each once, as last written", () => {
  expect(zonesFor("brow", "new", earlier)).toEqual(["Edge", "Temple", "Under the piece"]);
});

test("the standard zones are offered for a look that has none yet", () => {
  expect(zonesFor("beard", "new", earlier)).toEqual(STANDARD_ZONES);
});

test("a first sheet keeps the standard zones after its own first one", () => {
  expect(zonesFor("scar", "c", earlier)).toEqual(STANDARD_ZONES);
});
