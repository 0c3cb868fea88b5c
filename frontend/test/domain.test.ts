// Cases constructed here; the rules are common practice, no source.

import { describe, expect, test } from "vitest";
import durations from "../../tests/cases/durations.json";
import shootDates from "../../tests/cases/shoot_date.json";
import { copyStates, nextCopies, scenesShot } from "../src/domain/copyState";
import { clockIn, dayIn, minutesWords, momentAt, momentFrom, toMoment } from "../src/domain/moment";
import { shootDate } from "../src/domain/shootDate";
import { type DayFacts, matchSittings, peopleOf, sceneTimes } from "../src/domain/today";
import { uncounted } from "../src/domain/uncounted";
import type { ApplicationDocument, CopyDocument, ShootDayDocument } from "../src/types";

describe("where a copy is", () => {
  const copy = (id: string, document: Partial<CopyDocument> = {}, derived = {}) => ({
    id, derived, document: { appliance: "brow", serial: id, grade: "hero" as const, state: "on_set" as const, ...document },
  });
  const sheet = (id: string, document: Partial<ApplicationDocument>) => ({
    id, document: { performer: "p", look: "l", date: "2026-03-02", artist: "c", ...document },
  });

  test("an application decides: applied, used up once removed, damaged when spoiled", () => {
    const copies = [copy("1"), copy("2"), copy("3"), copy("4")];
    const states = copyStates(copies, [
      sheet("a", { copies: { x: { copy_used: "1", outcome: "good" }, y: { copy_used: "2", outcome: "spoiled" } } }),
      sheet("b", { copies: { x: { copy_used: "3" } }, removed_at: "2026-03-02T18:00:00Z" }),
    ]);
    expect(["1", "2", "3", "4"].map((id) => states.get(id)!.state)).toEqual(["applied", "damaged", "used_up", "on_set"]);
    expect(states.get("1")!.application).toBe("a");
  });

  test("a copy lost during the day is lost, removed or not", () => {
    const states = copyStates([copy("1"), copy("2")], [
      sheet("a", { copies: { x: { copy_used: "1", outcome: "lost" } } }),
      sheet("b", { copies: { x: { copy_used: "2", outcome: "lost" } }, removed_at: "2026-03-02T18:00:00Z" }),
    ]);
    expect([states.get("1")!.state, states.get("2")!.state]).toEqual(["lost", "lost"]);
  });

  test("a copy set aside for a scene is taken first there, and is no spare elsewhere", () => {
    const copies = [copy("plain", { use_by: "2026-03-03" }), copy("aside", { set_aside_for: "42" })];
    const taken = (...scenes: string[]) => nextCopies({ id: "brow", document: { grade: "hero" } }, copies, copyStates(copies, []), "2026-03-02", scenes).map((one) => one.id);
    expect(taken()).toEqual(["plain"]);
    expect(taken("7")).toEqual(["plain"]);
    expect(taken("7", "42")).toEqual(["aside", "plain"]);
  });

  test("once its scene is shot or gone, a copy set aside is a spare like any other; while it is planned again, it is kept", () => {
    const day = (date: string, scene: string) => ({ document: { date, unit: "u", crew_call: "07:00", wrap: "18:00", scenes: [{ scene }] } });
    const shot = scenesShot([{ id: "42", withdrawn: false }, { id: "7", withdrawn: true }, { id: "9", withdrawn: false }, { id: "11", withdrawn: false }],
      [day("2026-03-01", "42"), day("2026-03-01", "9"), day("2026-03-02", "9")], "2026-03-02");
    expect([...shot].sort()).toEqual(["42", "7"]);
    const copies = [copy("aside", { set_aside_for: "42" }), copy("kept", { set_aside_for: "9" })];
    expect(nextCopies({ id: "brow", document: { grade: "hero" } }, copies, copyStates(copies, []), "2026-03-02", [], shot).map((one) => one.id)).toEqual(["aside"]);
  });

  test("an application only the server knows counts too", () => {
    const states = copyStates([copy("1", {}, { state: "applied", applications: ["elsewhere"] })], []);
    expect(states.get("1")).toEqual({ state: "applied", application: "elsewhere" });
  });

  test("taking a copy off a sheet, not sent yet, sets it free at once", () => {
    const states = copyStates([copy("1", {}, { state: "applied", applications: ["a"] })], [sheet("a", { copies: {} })]);
    expect(states.get("1")!.state).toBe("on_set");
  });

  test("spares are on set and not past their date; the first to expire is taken first, then the lowest grade that serves", () => {
    const copies = [
      copy("10"), copy("9"), copy("soon", { use_by: "2026-03-05" }), copy("past", { use_by: "2026-03-01" }),
      copy("shop", { state: "shop" }), copy("mid", { grade: "mid" }), copy("other", { appliance: "scar" }), copy("low", { grade: "background" }),
    ];
    const states = copyStates(copies, []);
    const order = (grade: "hero" | "mid") => nextCopies({ id: "brow", document: { grade } }, copies, states, "2026-03-02").map((one) => one.id);
    expect(order("hero")).toEqual(["soon", "9", "10"]);
    expect(order("mid")).toEqual(["soon", "mid", "9", "10"]);
  });
});

describe("the day's people", () => {
  const facts: DayFacts = {
    characters: new Map([["mara", { name: "Mara", performer: "ada" }], ["tom", { name: "Tom", performer: "ben" }]]),
    looks: new Map([
      ["cut", { character: "mara", name: "Cut brow", appliances: ["brow"] }],
      ["scar", { character: "mara", name: "Scar", appliances: ["scar"] }],
      ["bare", { character: "mara", name: "Bare" }],
      ["beard", { character: "tom", name: "Beard", appliances: ["chin"] }],
    ]),
    appliances: new Map([
      ["brow", { name: "Brow", encapsulator: "alcohol_soluble", edge_solvent: "alcohol" }],
      ["scar", { name: "Scar", encapsulator: "alcohol_soluble", edge_solvent: "alcohol", performer: "ada" }],
      ["chin", { name: "Chin", encapsulator: "alcohol_soluble", edge_solvent: "alcohol", wear_limit_minutes: 150 }],
    ]),
    scenes: new Map([
      ["1", { number: "1", worn: [{ character: "mara", look: "cut" }] }],
      ["2", { number: "2", worn: [{ character: "mara", look: "cut" }, { character: "tom", look: "beard" }] }],
      ["3", { number: "3", worn: [{ character: "mara", look: "scar" }] }],
      ["4", { number: "4", worn: [{ character: "mara", look: "cut", performer: "double" }] }],
      ["5", { number: "5", worn: [{ character: "tom", look: "beard" }] }],
      ["6", { number: "6", worn: [{ character: "mara", look: "bare" }] }],
    ]),
  };
  const day = (scenes: ShootDayDocument["scenes"], more: Partial<ShootDayDocument> = {}): ShootDayDocument => ({
    date: "2026-03-02", unit: "u", crew_call: "07:00", wrap: "17:00", scenes: scenes!, ...more,
  });
  const scenes = (...ids: string[]) => ids.map((scene) => ({ scene }));
  const sittings = (document: ShootDayDocument, performer: string) =>
    peopleOf("d", document, facts).find((person) => person.performer === performer)!.sittings.map((one) => `${one.look}: ${one.scenes.join(" ")} (${one.why})`);

  test("worn through neighbouring scenes is one sitting, scenes of others in between or not", () => {
    expect(sittings(day(scenes("1", "5", "2")), "ada")).toEqual(["cut: 1 2 (first of the day)"]);
  });

  test("a change of look is another, and so is the way back", () => {
    expect(sittings(day(scenes("1", "3", "2")), "ada")).toEqual(["cut: 1 (first of the day)", "scar: 3 (look change)", "cut: 2 (look change)"]);
    expect(sittings(day(scenes("1", "6", "2")), "ada")).toEqual(["cut: 1 (first of the day)", "cut: 2 (look change)"]);
  });

  test("taken off between is another", () => {
    expect(sittings(day([{ scene: "1", taken_off_after: ["ada"] }, { scene: "2" }]), "ada")).toEqual(["cut: 1 (first of the day)", "cut: 2 (taken off between)"]);
  });

  test("past the wear limit is another", () => {
    expect(sittings(day([{ scene: "2", minutes: 100 }, { scene: "5", minutes: 60 }]), "ben")).toEqual(["beard: 2 (first of the day)", "beard: 5 (wear limit)"]);
    expect(sittings(day([{ scene: "2", minutes: 90 }, { scene: "5", minutes: 60 }]), "ben")).toEqual(["beard: 2 5 (first of the day)"]);
  });

  test("a double counts for their own, without the pieces made for the other", () => {
    const people = peopleOf("d", day(scenes("1", "4")), facts);
    expect(people.map((person) => person.performer).sort()).toEqual(["ada", "double"]);
    expect(people.find((person) => person.performer === "double")!.sittings).toMatchObject([{ look: "cut", appliances: ["brow"], scenes: ["4"] }]);
  });

  test("a double for whom no piece is made is told apart from one who wears none", () => {
    const double = new Map([...facts.scenes, ["7", { number: "7", worn: [{ character: "mara", look: "scar", performer: "double" }] }], ["8", { number: "8", worn: [{ character: "mara", look: "bare", performer: "double" }] }]]);
    const withoutPiece = (scene: string) => peopleOf("d", day(scenes(scene)), { ...facts, scenes: double })[0]!.withoutPiece;
    expect(withoutPiece("7")).toEqual(["scar"]);
    expect(withoutPiece("8")).toEqual([]);
    expect(withoutPiece("4")).toEqual([]);
  });

  test("what cannot be counted ahead: a character nobody plays, a performer no piece is made for; each once, bare looks and days gone left out", () => {
    const uncast: DayFacts = {
      ...facts,
      characters: new Map([...facts.characters, ["tom", { name: "Tom" }]]),
      scenes: new Map([...facts.scenes, ["7", { number: "7", worn: [{ character: "mara", look: "scar", performer: "double" }, { character: "tom", look: "bare" }] }]]),
    };
    const days = [day(scenes("7", "2", "5"), { date: "2026-03-03" }), day(scenes("7"), { date: "2026-03-04" })];
    expect(uncounted(days, "2026-03-03", uncast)).toEqual([{ look: "scar", performer: "double" }, { look: "beard", character: "tom" }]);
    expect(uncounted(days, "2026-03-05", uncast)).toEqual([]);
    expect(uncounted([day(scenes("1", "3", "4"))], "2026-03-02", facts)).toEqual([]);
  });

  test("people come in the order of their calls; without one the crew call counts", () => {
    const people = peopleOf("d", day(scenes("1", "5"), { calls: [{ performer: "ben", time: "05:30" }, { performer: "extra", time: "09:00" }] }), facts);
    expect(people.map((person) => [person.performer, person.call, person.ownCall])).toEqual([["ben", "05:30", true], ["ada", "07:00", false], ["extra", "09:00", true]]);
  });

  test("scenes without planned minutes share what is left by page eighths; a wrap before the call is on the next day", () => {
    const sized = new Map([["1", { number: "1", page_eighths: 8 }], ["2", { number: "2", page_eighths: 24 }]]);
    const night = day([{ scene: "1" }, { scene: "9", minutes: 60 }, { scene: "2" }], { crew_call: "20:00", wrap: "05:00" });
    expect(sceneTimes(night, sized)).toEqual([[1200, 1320], [1320, 1380], [1380, 1740]]);
  });

  test("what is logged answers the sittings in order; the rest was not planned", () => {
    const person = peopleOf("d", day([{ scene: "1", taken_off_after: ["ada"] }, { scene: "2" }]), facts).find((one) => one.performer === "ada")!;
    const logged = (id: string, look: string, started: string) => ({ id, look, started, performer: "ada", date: "2026-03-02" });
    const { bySitting, unplanned } = matchSittings(person, [logged("later", "cut", "2"), logged("first", "cut", "1"), logged("extra", "scar", "3")]);
    expect(person.sittings.map((sitting) => bySitting.get(sitting))).toEqual(["first", "later"]);
    expect(unplanned).toEqual(["extra"]);
  });
});

describe("dates and times", () => {
  test("a moment carries its offset", () => {
    expect(toMoment(new Date("2026-03-02T06:00:00Z"))).toMatch(/^2026-03-0\dT\d\d:\d\d:00\.000[+-]\d\d:\d\d$/);
    expect(Date.parse(toMoment(new Date("2026-03-02T06:00:00Z")))).toBe(Date.parse("2026-03-02T06:00:00Z"));
  });
  test("today is the production's day, not the phone's", () => {
    const late = new Date("2026-03-02T23:30:00Z");
    expect(dayIn("Europe/Madrid", late)).toBe("2026-03-03");
    expect(dayIn("America/Los_Angeles", late)).toBe("2026-03-02");
  });
  test.each(["Europe/London", "America/New_York", "Asia/Kolkata", "Pacific/Auckland"])("a time on the clock in %s comes back as it was", (zone) => {
    for (const day of ["2026-01-15", "2026-03-29", "2026-07-15", "2026-10-25"]) expect(clockIn(zone, momentAt(zone, day, "05:45"))).toBe("05:45");
  });

  // RFC 5545, section 3.3.5, from memory; the values are reproduced with Python's zoneinfo.
  test.each([
    ["America/New_York", "2007-03-11", "02:30", "2007-03-11T07:30:00Z"],
    ["America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30:00Z"],
    ["Europe/London", "2026-03-29", "01:30", "2026-03-29T01:30:00Z"],
    ["Europe/London", "2026-10-25", "01:30", "2026-10-25T00:30:00Z"],
    ["Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45:00Z"],
  ])("a time that %s's clocks pass over or show twice, %s %s", (zone, day, time, moment) => {
    expect(Date.parse(momentAt(zone, day, time))).toBe(Date.parse(moment));
  });
  test("a time written afterwards is of the day of the start, or of the night that follows", () => {
    const start = "2026-03-02T17:30:40Z";
    const from = (time: string) => Date.parse(momentFrom("Europe/London", start, time));
    expect(from("23:45")).toBe(Date.parse("2026-03-02T23:45:00Z"));
    expect(from("00:10")).toBe(Date.parse("2026-03-03T00:10:00Z"));
    expect(from("17:30")).toBe(Date.parse("2026-03-02T17:30:00Z"));
  });
  test("a time written afterwards is never before the start, also in the night in which the clocks are set back", () => {
    // Constructed here: put on at ten past one of winter time, after the clocks have shown it once before.
    const from = (start: string, time: string) => Date.parse(momentFrom("Europe/London", start, time));
    expect(from("2026-10-25T01:10:00Z", "01:30")).toBe(Date.parse("2026-10-25T01:30:00Z"));
    expect(from("2026-10-25T00:45:00Z", "01:30")).toBe(Date.parse("2026-10-25T01:30:00Z"));
    expect(from("2026-10-25T00:10:00Z", "01:30")).toBe(Date.parse("2026-10-25T00:30:00Z"));
  });
  // The server has the same rule.
  test.each(shootDates)("which shoot day it is: $says", ({ at, days, date }) => {
    const hours = days.map(([day, crew_call, wrap]) => ({ date: day!, crew_call: crew_call!, wrap: wrap! }));
    const moment = (zone: string) => new Date(momentAt(zone, at.slice(0, 10), at.slice(11)));
    for (const zone of ["Europe/London", "America/Los_Angeles"]) expect(shootDate(zone, hours, moment(zone))).toBe(date);
  });
  // The server says the same words.
  test.each(durations)("$minutes minutes are $words", ({ minutes, words }) => expect(minutesWords(minutes)).toBe(words));
});
