import { EDGE_SOLVENTS } from "../../../domain/sheetWarnings";
import { minutesWords } from "../../../domain/moment";
import { optionsOf, words } from "../../../domain/words";
import { recordsOf } from "../../../store/live.svelte";
import type { Encapsulator, Grade, Id, IntrinsicColour, MaterialUse } from "../../../types";
import type { Draft, Errors, KindForm } from "../fields";
import { dateWords } from "../dates";
import { nameOf, optionsFor } from "../names";
import ColourRecipe from "../parts/ColourRecipe.svelte";
import GradesAsked from "../parts/GradesAsked.svelte";
import WordList from "../parts/WordList.svelte";

const solventsOf = (draft: Draft) => EDGE_SOLVENTS[draft.encapsulator as Encapsulator] ?? [];

/** Cast from a gel of A and B, with cap plastic around it. */
const isGel = (draft: Draft): boolean => draft.encapsulator === "alcohol_soluble" || draft.encapsulator === "acetone_soluble";
const lotsOf = (chosen: unknown, uses: readonly MaterialUse[]) =>
  optionsFor("material", chosen).filter(({ value }) => value === chosen || uses.includes(recordsOf("material").get(value)?.document.use as MaterialUse));

export const appliance: KindForm<"appliance"> = {
  kind: "appliance", many: "Appliances", one: "appliance",
  about: "The designed pieces. Copies are cast of them.",
  defaults: { grade: "hero", copies_per_application: 1, parts_a: 1, parts_b: 1, coats_in_mould: 4, coats_on_back: 4, cap_plastic_parts: 1, alcohol_parts: 5, intrinsic_colour: [] },
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
    { sort: "decimal", name: "copy_grams", label: "Weight of a copy", heading: "What it is cast from", above: 0, most: 20_000, unit: "g", when: isGel, hint: "A, B and deadener together, as a good copy weighs. The cast ticket is worked out from it." },
    { sort: "decimal", name: "parts_a", label: "Parts of A", above: 0, most: 100, unit: "by weight", required: true, when: isGel },
    { sort: "decimal", name: "parts_b", label: "Parts of B", above: 0, most: 100, unit: "by weight", required: true, when: isGel },
    { sort: "decimal", name: "deadener_parts", label: "Parts of deadener", least: 0, most: 100, unit: "by weight", when: isGel, hint: "0 is a gel without. Beyond 2 to 1 of A and B it may not hold its form and stays tacky." },
    { sort: "pick", name: "gel", label: "Gel", none: "Not said", when: isGel, options: (draft) => lotsOf(draft.gel, ["gel_a", "gel_b"]), hint: "The lot whose pot life and cure time the ticket goes by." },
    { sort: "part", name: "intrinsic_colour", label: "Intrinsic colour", part: ColourRecipe, empty: () => [], when: isGel, hint: "A flesh tone first, then dots of blue and yellow, flock for life. It is scaled to the pours." },
    { sort: "decimal", name: "area_square_centimetres", label: "Area to encapsulate", heading: "Encapsulator", above: 0, most: 100_000, unit: "cm²", when: isGel },
    { sort: "number", name: "coats_in_mould", label: "Coats in the mould", min: 0, max: 20, required: true, when: isGel },
    { sort: "number", name: "coats_on_back", label: "Coats on the back", min: 0, max: 20, required: true, when: isGel, hint: "At least 3 on the cured gel is common practice." },
    { sort: "decimal", name: "coat_millilitres_per_100_square_centimetres", label: "A coat takes", above: 0, most: 1000, unit: "ml for 100 cm²", when: isGel, hint: "Measure one session of spraying: what was in the cup, over coats and area." },
    { sort: "decimal", name: "cap_plastic_parts", label: "Parts of cap plastic", above: 0, most: 100, unit: "by volume", required: true, when: isGel },
    { sort: "decimal", name: "alcohol_parts", label: "Parts of what thins it", least: 0, most: 100, unit: "by volume", required: true, when: isGel, hint: "1 to 5 of 99 % alcohol is common practice. Highly flammable: no flame, no spark, aired well. The product's safety data sheet and local rules decide." },
  ],
  check: (draft): Errors => {
    const colours = (draft.intrinsic_colour ?? []) as Partial<IntrinsicColour>[];
    return isGel(draft) && colours.some((one) => !one.colour?.trim() || !one.amount || !one.unit || !one.per_grams || !one.into) ? { intrinsic_colour: "Each colour needs its name, how much, and for how many grams; take the empty one out" } : {};
  },
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
  defaults: { position: 0, appliances: [], grades: {}, wanted_angles: [] },
  fields: [
    { sort: "pick", name: "character", label: "Character", required: true, of: "character", options: (draft) => optionsFor("character", draft.character) },
    { sort: "text", name: "name", label: "Name", max: 200, required: true, hint: "Such as Cut brow, one day old" },
    { sort: "text", name: "progression", label: "Progression", max: 500, hint: "The wound it belongs to, such as Cut brow: fresh, day 1, day 3, scar.", suggest: () => [...new Set(recordsOf("look").list.flatMap(({ document }) => document.progression ?? []))] },
    { sort: "number", name: "position", label: "Place in the progression", min: 0, max: 1000, hint: "Lowest first.", when: (draft) => !!draft.progression },
    { sort: "many", name: "appliances", label: "Appliances worn", of: "appliance", options: () => optionsFor("appliance").map((option) => ({ ...option, note: applianceNote(option.value) })) },
    {
      sort: "part", name: "grades", label: "Grade asked for", part: GradesAsked, empty: () => ({}), when: (draft) => (draft.appliances as Id[]).length > 0,
      hint: "Where this look needs less or more than the piece itself asks for: a wide shot may do with background.",
    },
    { sort: "minutes", name: "chair_minutes", label: "Time in the chair", min: 0, max: 1440 },
    { sort: "many", name: "wanted_angles", label: "Photos wanted of each application", options: () => optionsOf(words.angle), hint: "None chosen stands for front, both three-quarters and close-up." },
    { sort: "text", name: "order_of_work", label: "Order of work", max: 5000, lines: 3, hint: "What is done after what. It stands on the match sheet." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  follow: (draft, name, fresh) => {
    if (name === "progression" && fresh) {
      const before = recordsOf("look").list.filter(({ document }) => document.progression === String(draft.progression).trim());
      draft.position = Math.max(-1, ...before.map(({ document }) => document.position ?? 0)) + 1;
    }
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
  gel_a: "Nitrile gloves, never latex. It does not cure against natural latex, ammonia, sulphur clay, amines or tin-cured silicone.",
  gel_b: "Nitrile gloves, never latex. It does not cure against natural latex, ammonia, sulphur clay, amines or tin-cured silicone.",
  cap_plastic: "Sprayed with its solvent it is highly flammable: no flame, no spark, aired well, eyes covered.",
};
const isOfGel = (draft: Draft): boolean => draft.use === "gel_a" || draft.use === "gel_b";
const isCounted = (draft: Draft): boolean => !!draft.unit;
const SOLVENT_CAUTIONS: Record<string, string> = {
  acetone: "Highly flammable: no flame, no smoking, air the room. Not near eyes or mouth, nor on broken skin.",
  alcohol: "Highly flammable: no flame, no smoking, air the room. Keep it out of the eyes.",
};

export const material: KindForm<"material"> = {
  kind: "material", many: "Materials", one: "material",
  about: "What is put on, and what copies are cast from: each lot for itself.",
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
    { sort: "date", name: "opened_on", label: "Opened on" },
    { sort: "number", name: "opened_life_days", label: "Once opened, good for", min: 1, max: 3650, unit: "days" },
    { sort: "decimal", name: "pot_life_minutes", label: "Pot life by its maker", above: 0, most: 1440, unit: "min", when: isOfGel },
    { sort: "decimal", name: "pot_life_celsius", label: "At", least: -20, most: 60, unit: "°C", when: isOfGel, hint: "The temperature the maker's times are given for. A warmer room is faster." },
    { sort: "minutes", name: "cure_minutes", label: "Cure", min: 1, max: 20_160, when: isOfGel },
    { sort: "minutes", name: "coat_dry_minutes", label: "A coat dries in", min: 1, max: 1440, when: (draft) => draft.use === "cap_plastic" },
    { sort: "choice", name: "unit", label: "Counted in", heading: "Stock", options: () => optionsOf(words.material_unit), hint: "With an amount, cast runs and applications draw it down.",
      // What was weighed is in it.
      when: (_draft, id) => !Object.keys(recordsOf("material").get(id ?? undefined)?.document.weighings ?? {}).length },
    { sort: "decimal", name: "amount", label: "What the lot held when it was entered", least: 0, most: 1_000_000, when: isCounted },
    { sort: "decimal", name: "low_below", label: "Running low below", least: 0, most: 1_000_000, when: isCounted },
    { sort: "decimal", name: "amount_per_application", label: "One application takes", above: 0, most: 100_000, when: (draft) => isCounted(draft) && ["adhesive", "edge_solvent", "remover", "paint", "sealer"].includes(String(draft.use)) },
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
