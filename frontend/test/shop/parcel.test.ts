import { describe, expect, it } from "vitest";
import { mergePatch } from "../../src/domain/mergePatch";
import { copyPatch, countOf, countWords, openParcelOf, packingList, parcelPatch, parcelThatMissed, standingOf } from "../../src/domain/parcel";
import type { JsonObject, ParcelDocument } from "../../src/types";

const AT = "2026-11-25T09:00:00+00:00";
const packed: ParcelDocument = { packed_on: "2026-11-24", copies: { a: {}, b: {}, c: {} } };
const sent: ParcelDocument = { ...packed, sent_at: "2026-11-24T17:00:00+00:00", expected_on: "2026-11-25" };
const after = (parcel: ParcelDocument, ...patches: ReturnType<typeof parcelPatch>[]): ParcelDocument =>
  patches.reduce((now, patch) => mergePatch(now as unknown as JsonObject, patch as unknown as JsonObject) as unknown as ParcelDocument, parcel);

describe("a parcel", () => {
  it("is packed, on its way, looked through and received", () => {
    expect(standingOf(packed)).toBe("packed");
    expect(standingOf(sent)).toBe("on_its_way");
    const one = after(sent, parcelPatch(sent, "a", "arrived", "", AT));
    expect(standingOf(one)).toBe("being_looked_through");
    expect(countWords(one)).toBe("1 arrived, 2 to be looked for");
    const two = after(one, parcelPatch(one, "b", "damaged", "Edge bent", AT));
    const three = after(two, parcelPatch(two, "c", "missing", "", AT));
    expect(standingOf(three)).toBe("received");
    expect(three.received_at).toBe(AT);
    expect(countWords(three)).toBe("1 arrived, 1 missing, 1 damaged");
    expect(three.copies!.b).toEqual({ arrived: "damaged", note: "Edge bent" });
  });
  it("is received once only: a word changed later does not move the day", () => {
    const whole = after(sent, ...["a", "b", "c"].map((copy) => parcelPatch({ ...sent, copies: { a: { arrived: "arrived" }, b: { arrived: "arrived" }, c: { arrived: "arrived" } } }, copy, "arrived" as const, "", AT)));
    expect(parcelPatch(whole, "a", "missing", "", "2026-11-26T09:00:00+00:00")).not.toHaveProperty("received_at");
  });
  it("gives a copy that is here to set, and one that is not to nobody", () => {
    expect(copyPatch("arrived", "")).toEqual({ state: "on_set", expected_on: null });
    expect(copyPatch("damaged", "Edge bent")).toEqual({ state: "damaged", expected_on: null, note: "Edge bent" });
    expect(copyPatch("missing", "")).toMatchObject({ state: "lost", expected_on: null });
  });
  it("is found by a copy in it until it is received", () => {
    const list = [{ document: { ...sent, received_at: AT } }, { document: { ...packed, copies: { d: {} } } }, { document: sent }];
    expect(openParcelOf(list, "a")).toBe(list[2]);
    expect(openParcelOf(list, "z")).toBeUndefined();
  });
});

describe("a copy that turns up at a count", () => {
  const told = (arrived: "arrived" | "missing", at: string) => ({ document: { ...sent, sent_at: at, received_at: at, copies: { a: { arrived } } } as ParcelDocument });
  const old = told("missing", "2026-11-02T17:00:00+00:00");
  it("is told to the last parcel that was sent with it and did not bring it", () => {
    const onItsWay = { document: sent };
    expect(parcelThatMissed([old, onItsWay], "a")).toBe(onItsWay);
    expect(parcelThatMissed([old, told("arrived", "2026-11-20T17:00:00+00:00")], "a")).toBe(old);
    expect(parcelThatMissed([{ document: packed }], "a")).toBeUndefined();
    expect(parcelThatMissed([onItsWay], "z")).toBeUndefined();
  });
});

describe("a packing list", () => {
  const copies = new Map([["a", "CBL-10"], ["b", "CBL-9"]].map(([id, serial]) => [id!, { id: id!, document: { appliance: "brow", serial: serial!, grade: "hero" as const } }]));
  it("stands by piece and grade, serials as people count", () => {
    expect(packingList(packed, copies)).toEqual({ lines: [{ appliance: "brow", grade: "hero", serials: ["CBL-9", "CBL-10"], copies: ["b", "a"] }], unknown: ["c"] });
    expect(countOf(packed).all).toBe(3);
  });
});
