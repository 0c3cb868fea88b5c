import { EDGE_SOLVENTS } from "../../../domain/sheetWarnings";
import { minutesWords } from "../../../domain/moment";
import { optionsOf, words } from "../../../domain/words";
import { recordsOf } from "../../../store/live.svelte";
import type { Encapsulator, Grade, Id, MaterialUse } from "../../../types";
import type { Draft, Errors, KindForm } from "../fields";
import { dateWords } from "../dates";
import { nameOf, optionsFor } from "../names";
import GradesAsked from "../parts/GradesAsked.svelte";
import WordList from "../parts/WordList.svelte";

const solventsOf = (draft: Draft) => EDGE_SOLVENTS[draft.encapsulator as Encapsulator] ?? [];

export const appliance: KindForm<"appliance"> = {
  kind: "appliance", many: "Appliances", one: "appliance",
  about: "The designed pieces. Copies are cast of them.",
  defaults: { grade: "hero", copies_per_application: 1 },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true, hint: "Such as Cut brow, left" },
    { sort: "pick", name: "performer", label: "Made for", none: "Generic: fits anyone", options: (draft) => optionsFor("performer", draft.performer) },
    { sort: "choice", name: "grade", label: "Grade needed", required: true, options: () => optionsOf(words.grade), hint: "A copy of a higher grade may stand in for a lower one, never the other way." },
    { sort: "choice", name: "encapsulator", label: "Edge made of", required: true, options: () => optionsOf(words.encapsulator) },
    {
      sort: "choice", name: "edge_solvent", label: "Edge solvent", required: true, when: (draft) => !!draft.encapsulator,
      options: (draft) => optionsOf(words.edge_solvent).filter((option) => solventsOf(draft).includes(option.value)),
      hint: (draft) => `The solvent follows the encapsulator.${draft.encapsulator === "foam_latex" ? " A foam latex edge does not dissolve: it is blended." : ""}`,
    },
    { sort: "number", name: "copies_per_application", label: "Copies for one application", min: 1, max: 50, required: true },
    { sort: "minutes", name: "wear_limit_minutes", label: "Wear limit", min: 1, max: 2880, hint: "Worn longer than this, a fresh one is planned." },
    { sort: "number", name: "shelf_life_days", label: "Shelf life", min: 1, max: 3650, unit: "days", hint: "From the day it is cast. It dates each new copy." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  follow: (draft, name) => {
    if (name !== "encapsulator") return;
    const fitting = solventsOf(draft);
    if (!fitting.includes(draft.edge_solvent as never)) draft.edge_solvent = fitting.length === 1 ? fitting[0] : undefined;
  },
  second: ({ document }) => [words.grade[document.grade ?? "hero"], words.encapsulator[document.encapsulator], document.performer ? nameOf("performer", document.performer) : "generic"].join(" · "),
};

export const look: KindForm<"look"> = {
  kind: "look", many: "Looks", one: "look",
  about: "How a character appears at a point of the story. Looks of one wound form a progression.",
  defaults: { position: 0, appliances: [], grades: {} },
  fields: [
    { sort: "pick", name: "character", label: "Character", required: true, options: (draft) => optionsFor("character", draft.character) },
    { sort: "text", name: "name", label: "Name", max: 200, required: true, hint: "Such as Cut brow, one day old" },
    { sort: "text", name: "progression", label: "Progression", max: 500, hint: "The wound it belongs to, such as Cut brow: fresh, day 1, day 3, scar.", suggest: () => [...new Set(recordsOf("look").list.flatMap(({ document }) => document.progression ?? []))] },
    { sort: "number", name: "position", label: "Place in the progression", min: 0, max: 1000, hint: "Lowest first.", when: (draft) => !!draft.progression },
    { sort: "many", name: "appliances", label: "Appliances worn", options: () => optionsFor("appliance").map((option) => ({ ...option, note: applianceNote(option.value) })) },
    {
      sort: "part", name: "grades", label: "Grade asked for", part: GradesAsked, empty: () => ({}), when: (draft) => (draft.appliances as Id[]).length > 0,
      hint: "Where this look needs less or more than the piece itself asks for: a wide shot may do with background.",
    },
    { sort: "minutes", name: "chair_minutes", label: "Time in the chair", min: 0, max: 1440 },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  follow: (draft, name) => {
    if (name !== "appliances") return;
    draft.grades = Object.fromEntries(Object.entries((draft.grades ?? {}) as Record<Id, Grade>).filter(([id]) => (draft.appliances as Id[]).includes(id)));
  },
  order: (one, other) =>
    (one.document.progression ?? "").localeCompare(other.document.progression ?? "") || (one.document.position ?? 0) - (other.document.position ?? 0) || one.document.name.localeCompare(other.document.name),
  group: ({ document }) => nameOf("character", document.character),
  second: ({ document }) => [document.progression ?? "", (document.appliances ?? []).map((id) => nameOf("appliance", id)).join(", ") || "No appliance", document.chair_minutes ? minutesWords(document.chair_minutes) : ""].filter(Boolean).join(" · "),
};

const applianceNote = (id: string): string => {
  const document = recordsOf("appliance").get(id)?.document;
  return document?.performer ? `for ${nameOf("performer", document.performer)}` : "generic";
};

export const CAUTIONS: Partial<Record<MaterialUse, string>> = {
  adhesive: "Patch-test it on each performer well before the first day. Never on broken or irritated skin.",
  remover: "Work it under the edge, never pull. Patch-test it as well.",
  paint: "Patch-test it on each performer.",
};
const SOLVENT_CAUTIONS: Record<string, string> = {
  acetone: "Highly flammable: no flame, no smoking, air the room. Not near eyes or mouth, nor on broken skin.",
  alcohol: "Highly flammable: no flame, no smoking, air the room. Keep it out of the eyes.",
};

export const material: KindForm<"material"> = {
  kind: "material", many: "Materials", one: "material",
  about: "Adhesive, edge solvent, remover, paint and sealer, each lot for itself.",
  defaults: { contains: [] },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true },
    {
      sort: "choice", name: "use", label: "What it is for", required: true, options: () => optionsOf(words.material_use),
      hint: (draft) => (CAUTIONS[draft.use as MaterialUse] ? `${CAUTIONS[draft.use as MaterialUse]} The product's safety data sheet decides.` : undefined),
    },
    {
      sort: "choice", name: "solvent", label: "Which solvent", required: true, when: (draft) => draft.use === "edge_solvent", options: () => optionsOf(words.edge_solvent),
      hint: (draft) => (SOLVENT_CAUTIONS[String(draft.solvent)] ? `${SOLVENT_CAUTIONS[String(draft.solvent)]} The product's safety data sheet and local rules decide.` : undefined),
    },
    { sort: "text", name: "lot", label: "Lot", max: 500, capitals: "characters" },
    { sort: "date", name: "expires_on", label: "Good until" },
    { sort: "part", name: "contains", label: "Contains", part: WordList, empty: () => [], hint: "What an allergy list may name: latex, colophony, acrylates, fragrance, nuts." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  check: (draft): Errors => {
    const listed = draft.contains as string[];
    return listed.some((word) => word.length > 200) ? { contains: "At most 200 characters each" } : listed.length > 50 ? { contains: "At most 50 of them" } : {};
  },
  follow: (draft) => {
    if (draft.use !== "edge_solvent") draft.solvent = undefined;
  },
  group: ({ document }) => words.material_use[document.use],
  second: ({ document }) => [document.solvent ? words.edge_solvent[document.solvent] : "", document.expires_on ? `until ${dateWords(document.expires_on)}` : "", document.contains?.length ? `contains ${document.contains.join(", ")}` : ""].filter(Boolean).join(" · "),
};
