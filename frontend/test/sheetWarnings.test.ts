// The same cases as the server's tests run.

import { expect, test } from "vitest";
import cases from "../../tests/cases/sheet_warnings.json";
import { sheetWarnings } from "../src/domain/sheetWarnings";
import type { ApplianceDocument, ApplicationDocument, CopyDocument, Grade, MaterialDocument, PerformerDocument } from "../src/types";

interface Case {
  name: string;
  at: string;
  application: ApplicationDocument;
  performer: PerformerDocument;
  copies: Record<string, CopyDocument>;
  appliances: Record<string, ApplianceDocument>;
  materials: Record<string, MaterialDocument>;
  performer_names: Record<string, string>;
  used_elsewhere: string[];
  grades?: Record<string, Grade>;
  scenes_ahead?: Record<string, string>;
  expected: string[];
  /** What is said, where a case gives it: the server says the same. */
  words?: string[];
}

const mapOf = <T>(table: Record<string, T>): Map<string, T> => new Map(Object.entries(table));

test.each(cases as unknown as Case[])("$name", (one) => {
  const warnings = sheetWarnings({
    sheet: one.application, performer: one.performer, copies: mapOf(one.copies), appliances: mapOf(one.appliances),
    materials: mapOf(one.materials), performerNames: mapOf(one.performer_names), usedElsewhere: new Set(one.used_elsewhere), at: one.at, grades: one.grades ?? {},
    scenesAhead: mapOf(one.scenes_ahead ?? {}),
  });
  expect(warnings.map((warning) => warning.key)).toEqual(one.expected);
  expect(warnings.every((warning) => warning.words.endsWith("."))).toBe(true);
  if (one.words) expect(warnings.map((warning) => warning.words)).toEqual(one.words);
});

test("nothing is said of health where it is not shown", () => {
  const about = (cases as unknown as Case[]).filter((one) => one.expected.some((key) => key.startsWith("adhesive_")));
  expect(about.length).toBeGreaterThan(0);
  for (const one of about) {
    const warnings = sheetWarnings({
      sheet: one.application, performer: { name: one.performer.name }, copies: mapOf(one.copies), appliances: mapOf(one.appliances),
      materials: mapOf(one.materials), performerNames: mapOf(one.performer_names), usedElsewhere: new Set(one.used_elsewhere), at: one.at, healthKnown: false,
    });
    expect(warnings.filter((warning) => warning.aboutHealth)).toEqual([]);
  }
});
