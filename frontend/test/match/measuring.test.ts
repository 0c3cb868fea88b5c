// The places of a measurement in the order they are asked for. Cases constructed here.

import { expect, test } from "vitest";
import { newId } from "../../src/domain/id";
import { MeasureDraft } from "../../src/screens/match/measure/draft.svelte";

const pair = { look: newId(), then: { application: newId(), sha256: "a".repeat(64) }, now: { application: newId(), sha256: "b".repeat(64) } };
const asked = (draft: MeasureDraft): string => {
  const { target } = draft;
  if (!target) return "";
  return `${target.what === "card" ? "card" : draft.patches.find((patch) => patch.id === target.id)!.name} ${target.photo}`;
};

test("cards first, then each place on both photos", () => {
  const draft = new MeasureDraft();
  const order = [];
  for (let tap = 0; tap < 8; tap++) {
    order.push(asked(draft));
    draft.place({ x: 0.1 * tap, y: 0.5 }, null);
  }
  expect(order).toEqual(["card then", "card now", "Piece then", "Piece now", "Edge then", "Edge now", "Bare skin beside it then", "Bare skin beside it now"]);
  expect(draft.lacks).toBeNull();
});

test("where the photos are aligned a place is proposed on the other", () => {
  const draft = new MeasureDraft();
  draft.place({ x: 0.1, y: 0.9 }, null);
  draft.place({ x: 0.1, y: 0.9 }, null);
  draft.place({ x: 0.4, y: 0.4 }, { x: 0.45, y: 0.41 });
  expect(draft.patches[0]).toMatchObject({ then: { x: 0.4, y: 0.4 }, now: { x: 0.45, y: 0.41 } });
  expect(asked(draft)).toBe("Edge then");
  // Tapped again where it lay wrong: the other photo's place stays.
  draft.again({ what: "patch", photo: "now", id: draft.patches[0]!.id });
  draft.place({ x: 0.5, y: 0.5 }, { x: 0.9, y: 0.9 });
  expect(draft.patches[0]).toMatchObject({ then: { x: 0.4, y: 0.4 }, now: { x: 0.5, y: 0.5 } });
});

test("the card of 24 patches takes four corners, going round", () => {
  const draft = new MeasureDraft();
  draft.setSort("then", "patches_24");
  for (const [x, y] of [[0.1, 0.1], [0.4, 0.1], [0.4, 0.3], [0.1, 0.3]] as const) draft.place({ x, y }, null);
  expect(draft.cardIsPlaced("then")).toBe(true);
  expect(asked(draft)).toBe("card now");
  draft.setSort("now", "none");
  draft.place({ x: 0.5, y: 0.5 }, { x: 0.5, y: 0.5 });
  const document = draft.document(pair, null);
  expect(document.then.card).toEqual({ sort: "patches_24", corners: [{ x: 0.1, y: 0.1 }, { x: 0.4, y: 0.1 }, { x: 0.4, y: 0.3 }, { x: 0.1, y: 0.3 }] });
  expect(document.now.card).toEqual({ sort: "none" });
  expect(Object.values(document.patches).map(({ role }) => role)).toEqual(["piece"]);
});

test("what lacks is said, and nothing half is kept", () => {
  const draft = new MeasureDraft();
  expect(draft.lacks).toMatch(/card/);
  draft.setSort("then", "none");
  draft.setSort("now", "none");
  expect(draft.lacks).toBe("Tap at least one place.");
  draft.place({ x: 0.4, y: 0.4 }, null);
  expect(draft.lacks).toMatch(/both photos/);
  draft.place({ x: 0.4, y: 0.4 }, null);
  expect(draft.lacks).toBeNull();
  draft.add();
  draft.place({ x: 0.2, y: 0.2 }, { x: 0.2, y: 0.2 });
  expect(draft.lacks).toMatch(/name/);
});

test("a measurement opened again holds its places", () => {
  const draft = new MeasureDraft();
  for (let tap = 0; tap < 8; tap++) draft.place({ x: 0.1 * tap, y: 0.5 }, null);
  const points = { then: [{ x: 0.3, y: 0.4 }, { x: 0.6, y: 0.4 }], now: [{ x: 0.31, y: 0.4 }, { x: 0.61, y: 0.42 }] };
  const document = draft.document(pair, points);
  expect(document.then.align).toEqual(points.then);
  expect(MeasureDraft.of(document).document(pair, points)).toEqual(document);
});
