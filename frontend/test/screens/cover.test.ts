import { describe, expect, it } from "vitest";
import { besideEachOther } from "../../src/screens/cover/beside";
import { bandWords, coverLine, extraWords, leftWords, onAlreadyWords, orderWords, percentWords, priorWords, ratesWords, scheduleWords, standingOf, standingOrderWords, sureWords, untilWords, worstFirst } from "../../src/screens/cover/coverWords";
import { firstOf, usualHours } from "../../src/screens/cover/shootDays";
import { rangeOf, scaleOf, wholeTicks } from "../../src/screens/cover/plotScale";
import { clockWords } from "../../src/screens/cover/reasonWords";
import type { OrderDocument } from "../../src/types";
import type { ApplianceCover, CoverDay, Reorder } from "../../src/answers";

const day = (date: string, more: Partial<CoverDay> = {}): CoverDay => ({
  date, applications: 1, copies_needed: 1, arrivals: 0, expected_left: 3, left_p10: 2, left_p90: 4, p_short_by: 0.001, ...more,
});
const cover = (more: Partial<ApplianceCover> = {}): ApplianceCover => ({
  appliance: "a", spares_now: 3, on_set: 4, in_transit: 0, due: 0, undated: 0, set_aside: 0, log: { good: 34, spoiled: 3, lost: 2 }, prior: [9, 1],
  rests_on: "34 good, 3 spoiled, and 2 lost on set", pooling: { source: "too few", explanation: "the production's default", prior: [9, 1] },
  rates: { success: 0.88, spoiled: 0.075, lost: 0.045 }, exact: true, left_out: 0, until: null, grades: null, reorder: null, order: null,
  p_covered: 0.97, first_day_at_risk: "2026-11-28", days: [day("2026-11-26"), day("2026-11-27", { copies_needed: 0, applications: 0 }), day("2026-11-28"), day("2026-11-29")], ...more,
});
const plain = (text: string): string => text.replaceAll("\u00a0", " ");

describe("a probability in words", () => {
  const sure = (p: number) => plain(percentWords(p, "sure"));
  const risk = (p: number) => plain(percentWords(p, "risk"));
  it("is a certainty only when it is one", () => {
    expect([sure(1), sure(0), sure(1 - 1e-12), risk(1e-12), sure(0.99950001)]).toEqual(["100 %", "0 %", "over 99.9 %", "under 0.1 %", "over 99.9 %"]);
  });
  it("is never rounded to the better side of the target", () => {
    expect(sure(0.9799)).toBe("97.9 %");
    expect(risk(0.0201)).toBe("2.1 %");
  });
  it("is not put down by the hair that binary is off", () => {
    expect([sure(0.98), sure(0.29), risk(0.02), risk(0.07)]).toEqual(["98 %", "29 %", "2 %", "7 %"]);
  });
});

describe("the line of the cover", () => {
  it("says how many, until when, how sure", () => {
    expect(plain(coverLine("Cut brow, left", 4, cover()))).toBe("Cut brow, left, 4 spares, covered until Thu 26 Nov, at risk from Sat 28 Nov, 97 % sure to the end");
  });
  it("passes over days that need none when it says until when", () => {
    expect(untilWords(cover())).toContain("covered until Thu 26 Nov");
  });
  it("is at risk from the first day where nothing before it is covered", () => {
    expect(untilWords(cover({ first_day_at_risk: "2026-11-26" }))).toBe("at risk from Thu 26 Nov");
  });
  it("names the last day that needs it where all is covered", () => {
    expect(untilWords(cover({ first_day_at_risk: null, p_covered: 0.995, days: [day("2026-11-26"), day("2026-11-27", { copies_needed: 0 })] }))).toBe("covered to its last day, Thu 26 Nov");
  });
  it("says that nothing needs it, and gives no confidence for that", () => {
    const idle = cover({ days: [], first_day_at_risk: null, p_covered: 1 });
    expect(standingOf(idle)).toBe("not_needed");
    expect(sureWords(idle)).toBe("");
    expect(coverLine("Scar", 0, idle)).toBe("Scar, no spares, no shoot day ahead needs it");
  });
  it("stands worst first, what nothing needs last", () => {
    const list = [
      cover({ appliance: "idle", days: [], first_day_at_risk: null, p_covered: 1 }), cover({ appliance: "safe", first_day_at_risk: null, p_covered: 0.99 }),
      cover({ appliance: "risk", p_covered: 0.9 }), cover({ appliance: "short", p_covered: 0.2 }),
    ];
    expect(list.sort(worstFirst).map(({ appliance }) => appliance)).toEqual(["short", "risk", "safe", "idle"]);
  });
});

describe("what is to be ordered", () => {
  const reorder = (more: Partial<Reorder> = {}): Reorder => ({
    copies: 6, pours: 8, latest_start: "2026-11-30", possible: true, best_p_covered: 0.999, still_short: null, schedule: [{ date: "2026-11-30", pours: 8 }], ...more,
  });
  const order = (more: Partial<Reorder> = {}) => plain(orderWords(reorder(more), "2026-11-25"));
  it("is a number, a number of pours and the last day to start", () => {
    expect(order()).toBe("order 6 copies, 8 pours, start by Mon 30 Nov");
    expect(order({ copies: 1, pours: 1 })).toBe("order 1 copy, 1 pour, start by Mon 30 Nov");
  });
  it("says that the day is today, or has passed", () => {
    expect(order({ latest_start: "2026-11-25" })).toBe("order 6 copies, 8 pours, start today");
    expect(order({ latest_start: "2026-11-24" })).toBe("order 6 copies, 8 pours, should have started on Tue 24 Nov");
  });
  it("is the best that can be had, rounded down, and the day still short, where it cannot be made in time", () => {
    expect(order({ possible: false, latest_start: null, best_p_covered: 0.9189, still_short: "2026-11-28" })).toBe("cannot be made in time: best 91.8 %, short on Sat 28 Nov");
  });
  it("is told even where no copy made would help", () => {
    expect(order({ possible: false, copies: 0, pours: 0, latest_start: null, best_p_covered: 0.4, still_short: "2026-11-26" })).toContain("cannot be made in time");
  });
  it("is nothing where the cover holds, or no mould casts it", () => {
    expect(order({ copies: 0, pours: 0, latest_start: null })).toBe("");
    expect(orderWords(null, "2026-11-25")).toBe("");
  });
  it("is the shop's once it is taken on, and not before", () => {
    const taken = { copies: 6, state: "taken_on" } as OrderDocument;
    expect(standingOrderWords(taken)).toBe("6 copies taken on by the shop");
    expect(standingOrderWords({ ...taken, state: "asked_for" })).toBe("");
    expect(standingOrderWords(undefined)).toBe("");
  });
});

describe("when to pour", () => {
  const pours = (...days: number[]) => days.map((day) => ({ date: `2026-12-0${day}`, pours: 4 }));
  it("names every day while they are few, then the first three and the last", () => {
    expect(scheduleWords(pours(1))).toBe("Tue 1 Dec 4");
    expect(scheduleWords(pours(1, 2, 3, 4))).toBe("Tue 1 Dec 4, Wed 2 Dec 4, Thu 3 Dec 4, Fri 4 Dec 4");
    expect(scheduleWords(pours(1, 2, 3, 4, 5))).toBe("Tue 1 Dec 4, Wed 2 Dec 4, Thu 3 Dec 4 … until Sat 5 Dec");
  });
});

describe("what the rate rests on", () => {
  it("is what becomes of a copy, and what the prior weighs", () => {
    expect(plain(ratesWords({ success: 0.8801, spoiled: 0.0749, lost: 0.045 }))).toBe("88 % last: 7.5 % are spoiled on the way, and of those put on 4.5 % are lost during the day");
    expect(plain(priorWords([9, 1]))).toBe("counts as 10 copies of which 90 % lasted");
    expect(plain(priorWords([0.75, 0.25]))).toBe("counts as 1 copy of which 75 % lasted");
  });
  it("tells a time of the day, past midnight too", () => {
    expect([clockWords(390), clockWords(0), clockWords(1515)]).toEqual(["06:30", "00:00", "01:15 next day"]);
  });
});

describe("today's beside what if", () => {
  const safe = cover({ appliance: "safe", first_day_at_risk: null, p_covered: 0.99 });
  const risk = cover({ appliance: "risk", p_covered: 0.9 });
  it("has the worst turn first, then what gets better, then what stays", () => {
    const rows = besideEachOther(
      [safe, risk, cover({ appliance: "same" }), cover({ appliance: "better", p_covered: 0.4 })],
      [{ ...safe, p_covered: 0.45, first_day_at_risk: "2026-11-26" }, { ...risk, p_covered: 0.85 }, cover({ appliance: "same" }), cover({ appliance: "better", p_covered: 0.9 })],
    );
    expect(rows.map(({ appliance, changed, turn }) => [appliance, changed, turn])).toEqual([["safe", true, "worse"], ["risk", true, "worse"], ["better", true, "better"], ["same", false, "same"]]);
  });
  it("counts another order as a change, and a hair of probability as none", () => {
    const order = { copies: 6, pours: 8, latest_start: "2026-11-30", possible: true, best_p_covered: 1, still_short: null, schedule: [] };
    expect(besideEachOther([{ ...risk, reorder: order }], [{ ...risk, reorder: { ...order, copies: 7 } }])[0]).toMatchObject({ changed: true, turn: "same" });
    expect(besideEachOther([risk], [{ ...risk, p_covered: 0.9 + 1e-9 }])[0]!.changed).toBe(false);
  });
  it("is better where the shop can help again, or the first day at risk is later, though one is as unsure", () => {
    const order = { copies: 6, pours: 8, latest_start: null, possible: false, best_p_covered: 0.5, still_short: "2026-11-26", schedule: [] };
    const late = { ...risk, reorder: order };
    expect(besideEachOther([late], [{ ...late, reorder: { ...order, possible: true } }])[0]!.turn).toBe("better");
    expect(besideEachOther([late], [{ ...late, first_day_at_risk: "2026-11-29" }])[0]!.turn).toBe("better");
    expect(besideEachOther([safe], [{ ...safe, p_covered: 0.98 }])[0]!.turn).toBe("worse");
  });
  it("keeps an appliance that only one side has", () => {
    expect(besideEachOther([risk], [])).toEqual([{ appliance: "risk", today: risk, then: undefined, changed: true, turn: "same" }]);
  });
});

describe("spares left in words", () => {
  it("has a true minus and one decimal, and no mean where it is infinite", () => {
    expect([leftWords(2.449), leftWords(-0.94), leftWords(0), leftWords(-0.01), leftWords(null)]).toEqual(["2.4", "−0.9", "0", "0", "no mean"]);
  });
  it("gives the band, and says so where a figure is out of reason", () => {
    expect(bandWords({ left_p10: -1, left_p90: 3 })).toBe("−1 to 3");
    expect(bandWords({ left_p10: 3, left_p90: 3 })).toBe("3");
    expect(bandWords({ left_p10: null, left_p90: 2 })).toBe("far below to 2");
  });
});

describe("the plot", () => {
  const box = { width: 358, height: 270, left: 40, right: 8, top: 46, bottom: 34 };
  it("has whole ticks that hold every figure, zero among them", () => {
    for (const [low, high] of [[-3, 9], [0, 1], [-250, 40], [0, 1234], [-1, 0]] as const) {
      const ticks = wholeTicks(low, high, 7);
      expect(ticks.length).toBeLessThanOrEqual(7);
      expect(ticks.every(Number.isInteger)).toBe(true);
      expect(ticks[0]).toBeLessThanOrEqual(low);
      expect(ticks.at(-1)).toBeGreaterThanOrEqual(high);
      expect(ticks).toContain(0);
    }
  });
  it("always shows zero, and passes over figures that are not there", () => {
    expect(rangeOf([day("2026-11-26", { expected_left: null, left_p10: null, left_p90: 6 })])).toEqual([0, 6]);
  });
  it("puts more spares higher and every day inside the drawing", () => {
    const days = Array.from({ length: 60 }, (_, index) => day(`2026-12-${String(index)}`, { left_p10: 10 - index, left_p90: 12 - index, expected_left: 11 - index }));
    const scale = scaleOf(days, box, 58);
    expect(scale.y(5)).toBeLessThan(scale.y(-5));
    expect(scale.y(-1e9)).toBe(box.height - box.bottom);
    expect(scale.x(0) - scale.bar / 2).toBeGreaterThanOrEqual(box.left);
    expect(scale.x(59) + scale.bar / 2).toBeLessThanOrEqual(box.width - box.right);
    const apart = scale.x(scale.named[1]!) - scale.x(scale.named[0]!);
    expect(apart).toBeGreaterThanOrEqual(58);
  });
  it("stands a single day in the middle", () => {
    expect(scaleOf([day("2026-11-26")], box, 58).x(0)).toBe(40 + (358 - 48) / 2);
  });
});

describe("a scene that is shot again", () => {
  const day = (id: string, date: string, crew_call: string, wrap = "18:00") => ({ id, document: { date, unit: "u", crew_call, wrap } });
  it("goes to the shoot day of that date that begins first", () => {
    const days = [day("b", "2026-03-02", "09:00"), day("a", "2026-03-02", "06:30"), day("c", "2026-03-03", "05:00")];
    expect(firstOf(days, "2026-03-02")?.id).toBe("a");
    expect(firstOf(days, "2026-03-04")).toBeUndefined();
  });
  it("or gets a day with the hours most shoot days to come have", () => {
    const days = [day("a", "2026-03-01", "05:00"), day("b", "2026-03-01", "05:00"), day("c", "2026-03-03", "08:00", "19:00"), day("d", "2026-03-04", "06:00", "17:00")];
    expect(usualHours(days, "2026-03-02")).toEqual({ crew_call: "06:00", wrap: "17:00" });
    expect(usualHours([...days, day("e", "2026-03-05", "08:00", "19:00")], "2026-03-02")).toEqual({ crew_call: "08:00", wrap: "19:00" });
    expect(usualHours([], "2026-03-02")).toEqual({ crew_call: "07:00", wrap: "18:00" });
  });
});

it("what copies that do not last ask for", () => {
  expect(extraWords({ needed: 12, spoiled: 1.26, lost: 0.31, for_target: 5, chances: [] })).toBe("On average 1.3 are spoiled and 0.3 lost on set before 12 have lasted.");
  expect(extraWords({ needed: 1, spoiled: 1, lost: 0, for_target: 5, chances: [] })).toBe("On average 1 is spoiled and 0 lost on set before 1 has lasted.");
  expect(extraWords({ needed: 3, spoiled: null, lost: null, for_target: null, chances: [] })).toContain("no average");
  expect([onAlreadyWords(0), onAlreadyWords(2)]).toEqual(["", "2 on already"]);
});
