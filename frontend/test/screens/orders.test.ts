import { describe, expect, it } from "vitest";
import { closedLastFirst, onTheirWay, openFirstStart, openOrderOf, questionWords, startTag } from "../../src/screens/shop/orders";
import type { OrderDocument } from "../../src/types";

const order = (id: string, more: Partial<OrderDocument> = {}) => ({
  id,
  document: {
    appliance: "brow", mould: "mould", copies: 6, pours: 8, needed_on: "2026-12-04", latest_start: "2026-11-30", possible: true, p_covered_now: 0.8, best_p_covered: 0.99, why: "The cover falls under its target.",
    state: "asked_for" as const, ...more,
  },
});

describe("the orders of the shop", () => {
  it("stand by latest start, what is late already first, then by the day they are needed", () => {
    const late = order("late", { possible: false });
    delete (late.document as Partial<OrderDocument>).latest_start;
    const list = [order("later", { latest_start: "2026-12-01" }), order("b", { needed_on: "2026-12-05" }), order("a"), late, order("taken", { latest_start: "2026-11-29", state: "taken_on" })];
    expect(openFirstStart(list).map(({ id }) => id)).toEqual(["late", "taken", "a", "b", "later"]);
  });
  it("are open until they are sent or called off, and on their way until they arrive", () => {
    const list = [order("in", { state: "arrived" }), order("off", { state: "called_off", needed_on: "2026-12-09" }), order("open", { state: "casting" }), order("sent", { state: "sent" })];
    expect(openFirstStart(list).map(({ id }) => id)).toEqual(["open"]);
    expect(onTheirWay(list).map(({ id }) => id)).toEqual(["sent"]);
    expect(closedLastFirst(list).map(({ id }) => id)).toEqual(["off", "in"]);
  });
  it("with a question stand before everything that waits", () => {
    const question = { copies: 9, needed_on: "2026-12-03", why: "A scene was added.", asked_at: "2026-11-25T08:00:00+00:00" };
    const list = [order("a", { latest_start: "2026-11-26" }), order("asked", { state: "taken_on", question }), order("answered", { state: "taken_on", question, answer: "declined", latest_start: "2026-12-30" })];
    expect(openFirstStart(list).map(({ id }) => id)).toEqual(["asked", "a", "answered"]);
    expect(questionWords(list[1]!.document)).toBe("9 copies instead of 6, needed on Thu 3 Dec instead of Fri 4 Dec.");
    expect(questionWords({ ...list[1]!.document, question: { ...question, copies: 0 } })).toMatch(/called off\?$/);
  });
  it("stand one at most for an appliance", () => {
    const list = [order("old", { state: "arrived" }), order("other", { appliance: "scar" }), order("now")];
    expect(openOrderOf(list, "brow")?.id).toBe("now");
    expect(openOrderOf(list, "nose")).toBeUndefined();
  });
  it("asked for by hand do not hide the one the cover raised", () => {
    const list = [order("hand", { raised_by: "hand" }), order("cover")];
    expect(openOrderOf(list, "brow")?.id).toBe("cover");
  });
  it("say when they must be started", () => {
    const tag = (today: string, more: Partial<OrderDocument> = {}) => startTag(order("a", more).document, today);
    expect(tag("2026-11-25")).toEqual({ words: "start by Mon 30 Nov", late: false });
    expect(tag("2026-11-30")).toEqual({ words: "start today", late: false });
    expect(tag("2026-12-02")).toEqual({ words: "2 days late", late: true });
    expect(tag("2026-12-02", { state: "taken_on" })).toEqual({ words: "under way", late: false });
  });
  it("are for now where they cannot be made in time", () => {
    const { latest_start: _none, ...document } = order("a", { possible: false }).document;
    expect(startTag(document, "2026-11-25")).toEqual({ words: "start now", late: true });
  });
});
