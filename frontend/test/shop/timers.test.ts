import { describe, expect, it } from "vitest";
import { clockWords, endedBetween, endWords, timerAt } from "../../src/domain/timers";

const START = "2026-11-25T06:00:00+00:00";
const at = (minutes: number): number => Date.parse(START) + minutes * 60_000;
const pot = { what: "Pot life", minutes: 6, started_at: START };

describe("a timer of the bench", () => {
  it("counts from when it was started, so a closed browser changes nothing", () => {
    expect(timerAt(pot, at(0.5))).toMatchObject({ phase: "running", secondsLeft: 330, words: "5:30" });
    expect(timerAt(JSON.parse(JSON.stringify(pot)), at(5))).toMatchObject({ phase: "running", words: "1:00" });
  });
  it("says that it is over and for how long", () => {
    expect(timerAt(pot, at(6))).toMatchObject({ phase: "over", words: "time is up", late: "" });
    expect(timerAt(pot, at(6.5))).toMatchObject({ phase: "over", late: "30 s over" });
    expect(timerAt(pot, at(71))).toMatchObject({ late: "1 h 05 min over" });
  });
  it("stands still once it is stopped", () => {
    const early = { ...pot, stopped_at: "2026-11-25T06:02:00+00:00" };
    expect(timerAt(early, at(300))).toMatchObject({ phase: "stopped", secondsLeft: 240, words: "stopped early", late: "" });
    const late = { ...pot, stopped_at: "2026-11-25T06:09:00+00:00" };
    expect(timerAt(late, at(300))).toMatchObject({ phase: "stopped", words: "done", late: "3 min over" });
  });
  it("never runs longer than it is where the phone's clock was set back", () => expect(timerAt(pot, at(-60))).toMatchObject({ phase: "running", words: "6:00", part: 0 }));
  it("is read in the offset it was written in", () => expect(timerAt({ ...pot, started_at: "2026-11-25T08:00:00+02:00" }, at(5))).toMatchObject({ words: "1:00" }));
  it("is sounded once, when its end goes by", () => {
    expect(endedBetween([pot], at(5.9), at(6))).toEqual([pot]);
    expect(endedBetween([pot], at(6), at(6.1))).toEqual([]);
    expect(endedBetween([{ ...pot, stopped_at: START }], at(5.9), at(6))).toEqual([]);
    // The browser was closed while it ended: it is sounded on return, where the last look is known.
    expect(endedBetween([pot], at(1), at(90))).toEqual([pot]);
  });
  it("says what to do at its end", () => {
    expect(endWords("Pot life")).toBe("The mix sets: pour no more of it.");
    expect(endWords("Coat 2 on the back")).toMatch(/next coat/);
    expect(endWords("Cure")).toMatch(/before you demould/);
  });
});

describe("time left", () => {
  it.each([[0, "0:00"], [9, "0:09"], [59.2, "1:00"], [360, "6:00"], [3599, "59:59"], [3600, "1 h 00 min"], [90_000, "25 h 00 min"]])("%d s is %s", (seconds, words) => expect(clockWords(seconds)).toBe(words));
});
