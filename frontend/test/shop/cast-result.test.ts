import { describe, expect, it } from "vitest";
import { type Cavities, cavityOf, copiesToMake, countedResult, goodFor, lowerGrades, tallyOf } from "../../src/domain/castResult";
import { words } from "../../src/domain/words";
import { stepsFor } from "../../src/domain/orderSteps";
import type { OrderState, Role } from "../../src/types";
import steps from "../../../tests/cases/order_steps.json";

const cavities: Cavities = {
  x: { cavity: 2, result: "rejected", why: "torn_edge" }, y: { cavity: 1, result: "good" }, z: { cavity: 3, result: "lower_grade", grade: "background", why: "other", note: "Thin at the tip" },
};

describe("the result of a cast run", () => {
  it("counts for an order what is of its grade or better", () => {
    const run = { good: 2, cavities };
    expect(goodFor("hero", "hero", run)).toBe(1);
    expect(goodFor("mid", "hero", run)).toBe(1);
    expect(goodFor("background", "hero", run)).toBe(2);
    expect(goodFor("hero", "hero", { good: 3 })).toBe(3);
    expect(goodFor("hero", "hero", { cavities })).toBe(0);
  });
  it("counts a lower grade with what passed, and each rejected one with its reason", () => {
    expect(tallyOf(cavities, 4)).toEqual({ good: 1, lower: 1, rejected: 1, open: 1 });
    expect(countedResult(cavities)).toEqual({ good: 2, rejected: { x: { copies: 1, why: "Torn edge" } } });
    expect(cavityOf(cavities, 3)?.[0]).toBe("z");
  });
  it("gives serials in the order of the cavities, to what passed only", () => {
    expect(copiesToMake(cavities, "hero", "CBL-08")).toEqual([{ cavity: "y", number: 1, grade: "hero", serial: "CBL-08" }, { cavity: "z", number: 3, grade: "background", serial: "CBL-09" }]);
  });
  it("does not make a copy twice", () => expect(copiesToMake({ ...cavities, y: { cavity: 1, result: "good", copy_cast: "made" } }, "hero", "CBL-09").map(({ serial }) => serial)).toEqual(["CBL-09"]));
  it("offers grades below the piece's own", () => {
    expect(lowerGrades("hero")).toEqual(["mid", "background"]);
    expect(lowerGrades("background")).toEqual([]);
  });
});

describe("what can be said of an order", () => {
  it("is what the server takes, and nothing else", () => {
    const roles: Role[] = ["shop", "department_head", "set_artist", "continuity"];
    for (const from of Object.keys(words.order_state) as OrderState[])
      for (const role of roles)
        for (const { to } of stepsFor(from, role)) expect(steps.steps.find((step) => step.from === from && step.to === to)?.roles, `${from} to ${to}`).toContain(role);
  });
  const said = (state: Parameters<typeof stepsFor>[0], role: Parameters<typeof stepsFor>[1]) => stepsFor(state, role).map(({ to }) => to);
  it("is the shop's and the head's until it is sent", () => {
    expect(said("asked_for", "shop")).toEqual(["taken_on"]);
    expect(said("asked_for", "department_head")).toEqual(["taken_on", "called_off"]);
    expect(said("taken_on", "shop")).toEqual(["casting", "asked_for"]);
    expect(said("casting", "shop")).toEqual(["sent"]);
  });
  it("is the set's when it is on its way", () => {
    expect(said("sent", "set_artist")).toEqual(["arrived"]);
    expect(said("sent", "shop")).toEqual([]);
    expect(said("casting", "set_artist")).toEqual([]);
  });
  it("is nothing for continuity, nor once it is over", () => {
    for (const state of ["asked_for", "taken_on", "casting", "sent", "arrived", "called_off"] as const) expect(said(state, "continuity")).toEqual([]);
    expect(said("arrived", "department_head")).toEqual([]);
  });
});
