import { describe, expect, it } from "vitest";
import { copyOfCode, copyScanned, copyTyped } from "../../src/domain/scanText";

const ID = "019ac1d2-0000-7000-8000-00000000000a";
const known = [
  { id: ID, document: { serial: "CBL-07" } },
  { id: "b", document: { serial: "CBL-12" } },
  { id: "c", document: { serial: "BCR-12" } },
];

describe("the code on a label", () => {
  it("names its copy, whatever the server is called", () => {
    for (const origin of ["http://127.0.0.1:8000", "https://192.168.4.20:8443", "https://trailer.example"]) expect(copyOfCode(`${origin}/#/copy/${ID}`)).toBe(ID);
    expect(copyOfCode(`https://trailer.example/#/copy/${ID.toUpperCase()}\n`)).toBe(ID);
  });
  it.each([
    ["another address", "https://trailer.example/menu"], ["another page of the app", `https://trailer.example/#/cover/${ID}`], ["a bare id", ID], ["a serial", "CBL-07"], ["nothing", ""],
    ["a script", `javascript:alert(1)//#/copy/${ID}`], ["half an id", "https://trailer.example/#/copy/019ac1d2"], ["more behind it", `https://trailer.example/#/copy/${ID}/../x`],
  ])("is not %s", (_words, text) => expect(copyOfCode(text)).toBeNull());
  it("is told from a copy that is not here", () => {
    expect(copyScanned(`https://t.example/#/copy/${ID}`, known)).toEqual({ copy: ID });
    expect(copyScanned("https://t.example/#/copy/019ac1d2-0000-7000-8000-00000000000b", known)).toHaveProperty("problem", expect.stringContaining("not known on this phone"));
    expect(copyScanned("WIFI:T:WPA;S:unit base;;", known)).toEqual({ problem: "This code is no label of a copy." });
  });
});

describe("a serial that is typed", () => {
  it("is found in any case, with spaces around it", () => expect(copyTyped(" cbl-07 ", known)).toEqual({ copy: ID }));
  it("is found by its number where one copy alone ends in it", () => {
    expect(copyTyped("7", known)).toEqual({ copy: ID });
    expect(copyTyped("12", known)).toEqual({ problem: "2 copies end in 12: type the whole serial." });
  });
  it("is said to be unknown", () => {
    expect(copyTyped("CBL-99", known)).toEqual({ problem: "No copy CBL-99 is known on this phone." });
    expect(copyTyped("  ", known)).toHaveProperty("problem");
  });
});
