// What the sheet warns of. Never a wall: going past a warning is written down with the application.
// The server has the same rules in continuity/applications/sheet_warnings.py; tests/cases/sheet_warnings.json holds
// the two together. Common practice, no source; the product's safety data sheet and licensed practice decide.

import type { ApplianceDocument, ApplicationDocument, CopyDocument, Day, EdgeSolvent, Encapsulator, Grade, Id, MaterialDocument, Moment, PerformerDocument } from "../types";
import { gradeServes } from "./copyState";
import { minutesWords } from "./moment";

export interface SheetWarning {
  /** "<code>:<subject id>", the name under which it is overridden. */
  key: string;
  code: string;
  subject: Id;
  words: string;
  aboutHealth: boolean;
}

export interface SheetFacts {
  sheet: ApplicationDocument;
  performer: PerformerDocument;
  copies: ReadonlyMap<Id, CopyDocument>;
  appliances: ReadonlyMap<Id, ApplianceDocument>;
  materials: ReadonlyMap<Id, MaterialDocument>;
  performerNames: ReadonlyMap<Id, string>;
  /** Copies another application has taken. */
  usedElsewhere: ReadonlySet<Id>;
  /** The grades the look asks for, by appliance, where they are not the appliance's own. */
  grades?: Readonly<Record<Id, Grade>>;
  /** The numbers of the scenes that copies are set aside for and that have not been shot before the sheet's date. */
  scenesAhead?: ReadonlyMap<Id, string>;
  /** The time at which a sheet without removal is read. */
  at: Moment;
  /** False where allergies and patch tests are not shown to this role: nothing is said of them then. */
  healthKnown?: boolean;
}

/** The edge solvent follows the encapsulator (common practice, no source). */
export const EDGE_SOLVENTS: Record<Encapsulator, readonly EdgeSolvent[]> = {
  alcohol_soluble: ["alcohol"],
  acetone_soluble: ["acetone"],
  pressed_acrylic: ["alcohol"],
  foam_latex: ["blending_paste"],
  gelatine: ["warm_water", "witch_hazel"],
};

const HEALTH_CODES: ReadonlySet<string> = new Set(["adhesive_on_allergy_list", "adhesive_no_patch_test", "adhesive_reaction_recorded"]);

/** Minutes on the skin: from started to removed, or to `at` while worn; breaks count. Null before the start. */
export function wornMinutes(sheet: ApplicationDocument, at: Moment): number | null {
  if (!sheet.started_at) return null;
  return Math.max(0, (Date.parse(sheet.removed_at ?? at) - Date.parse(sheet.started_at)) / 60_000);
}

/** Every warning of a sheet, each once. A record this phone does not have is passed over. */
export function sheetWarnings(facts: SheetFacts): SheetWarning[] {
  const found = new Map<string, SheetWarning>();
  const warn = (code: string, subject: Id, text: string): void => {
    const key = `${code}:${subject}`;
    if (!found.has(key)) found.set(key, { key, code, subject, words: text, aboutHealth: HEALTH_CODES.has(code) });
  };
  copyWarnings(facts, warn);
  if (facts.healthKnown !== false) adhesiveWarnings(facts, warn);
  materialWarnings(facts, warn);
  return [...found.values()];
}

type Warn = (code: string, subject: Id, text: string) => void;

function copyWarnings({ sheet, copies, appliances, materials, performerNames, usedElsewhere, at, grades, scenesAhead }: SheetFacts, warn: Warn): void {
  const solvent = sheet.edge_solvent ? materials.get(sheet.edge_solvent) : undefined;
  const worn = wornMinutes(sheet, at);
  const taken = new Set<Id>();
  for (const { copy_used: id } of Object.values(sheet.copies ?? {})) {
    const copy = copies.get(id);
    const appliance = copy && appliances.get(copy.appliance);
    if (!copy || !appliance) continue;
    const wanted = grades?.[copy.appliance] ?? appliance.grade ?? "hero";
    if (appliance.performer && appliance.performer !== sheet.performer) {
      warn("copy_for_another_performer", id, `Copy ${copy.serial} is made for ${performerNames.get(appliance.performer) ?? "another performer"}.`);
    }
    if (!gradeServes(copy.grade, wanted)) {
      warn("copy_grade_too_low", id, `Copy ${copy.serial} is ${copy.grade} grade; ${appliance.name} wants ${wanted}.`);
    }
    if (copy.use_by && copy.use_by < sheet.date) warn("copy_past_shelf_date", id, `Copy ${copy.serial} was to be used by ${dateWords(copy.use_by)}.`);
    const keptFor = copy.set_aside_for && scenesAhead?.get(copy.set_aside_for);
    if (keptFor && !(sheet.scenes ?? []).includes(copy.set_aside_for!)) warn("copy_set_aside", id, `Copy ${copy.serial} is set aside for scene ${keptFor}.`);
    const state = copy.state ?? "shop";
    if (usedElsewhere.has(id) || taken.has(id) || state === "applied" || state === "used_up") {
      warn("copy_already_used", id, `Copy ${copy.serial} is already used.`);
    } else if (state !== "on_set") {
      warn("copy_not_on_set", id, `Copy ${copy.serial} is not on set.`);
    }
    taken.add(id);
    if (solvent?.solvent && !EDGE_SOLVENTS[appliance.encapsulator].includes(solvent.solvent)) {
      warn("edge_solvent_does_not_fit", id, `${solvent.name} does not move the edge of copy ${copy.serial}.`);
    }
    if (appliance.wear_limit_minutes && worn !== null && worn > appliance.wear_limit_minutes) {
      warn("wear_limit_passed", id, `Copy ${copy.serial} is worn past its limit of ${minutesWords(appliance.wear_limit_minutes)}.`);
    }
  }
}

/** "16 Nov 2026". Not by Intl, whose short months differ between browsers: the server says the same words. */
function dateWords(day: Day): string {
  const [year, month, date] = day.split("-").map(Number);
  return `${date} ${MONTHS[month! - 1]} ${year}`;
}
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sept", "Oct", "Nov", "Dec"];

const folded = (text: string): string => text.trim().toLowerCase().replaceAll("ß", "ss");

function adhesiveWarnings({ sheet, performer, materials }: SheetFacts, warn: Warn): void {
  for (const { material: id } of Object.values(sheet.adhesives ?? {})) {
    const material = materials.get(id);
    if (!material) continue;
    const contained = new Set([...(material.contains ?? []), material.name].map(folded));
    for (const allergy of Object.values(performer.allergies ?? {})) {
      if (contained.has(folded(allergy.substance))) {
        warn("adhesive_on_allergy_list", id, `${material.name}: ${allergy.substance} is on the performer's allergy list.`);
      }
    }
    // A patch test is of the product; a new lot of it has another record but the same name.
    const readings = Object.values(performer.patch_tests ?? {})
      .filter((test) => folded(materials.get(test.material)?.name ?? "") === folded(material.name))
      .flatMap((test) => Object.values(test.readings ?? {}));
    if (readings.some((reading) => reading.result === "reaction")) {
      warn("adhesive_reaction_recorded", id, `${material.name}: a reaction is recorded. Stop, and ask a medical professional.`);
    } else if (!readings.length) {
      warn("adhesive_no_patch_test", id, `${material.name}: no patch test with a reading is recorded for this performer.`);
    }
  }
}

function materialWarnings({ sheet, materials }: SheetFacts, warn: Warn): void {
  const used = [...Object.values(sheet.adhesives ?? {}).map((use) => use.material), sheet.edge_solvent, sheet.sealer, sheet.remover];
  for (const id of used) {
    const material = id ? materials.get(id) : undefined;
    if (material?.expires_on && material.expires_on < sheet.date) {
      // The date is the lot's: another lot of the same name may be in date.
      const name = material.lot ? `${material.name}, lot ${material.lot},` : material.name;
      warn("material_past_date", id!, `${name} expired on ${dateWords(material.expires_on)}.`);
    }
  }
}

/** The caution to show beside a material, or null. The product's own safety data sheet decides. */
export function caution(material: MaterialDocument): string | null {
  const decides = "The product's safety data sheet decides.";
  if (material.solvent === "acetone") {
    return `Highly flammable: no flame, no smoking, ventilate. Not near the eyes or mouth, not on broken skin. ${decides}`;
  }
  if (material.solvent === "alcohol") return `Highly flammable: no flame, no smoking, ventilate. Keep out of the eyes. ${decides}`;
  if (material.use === "adhesive" || material.use === "remover") return `Only on sound skin, patch-tested; keep out of the eyes, ventilate. ${decides}`;
  return null;
}
