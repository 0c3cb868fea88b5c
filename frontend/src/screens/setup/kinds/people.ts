import { recordsOf } from "../../../store/live.svelte";
import { session } from "../../../sync/session.svelte";
import type { Errors, KindForm } from "../fields";
import { nameOf, optionsFor } from "../names";
import Allergies from "../parts/Allergies.svelte";
import PatchTests from "../parts/PatchTests.svelte";

export const unit: KindForm<"unit"> = {
  kind: "unit", many: "Units", one: "unit",
  about: "Main unit, second unit: each has shoot days of its own.",
  defaults: {},
  fields: [{ sort: "text", name: "name", label: "Name", max: 200, required: true, hint: "Such as Main unit" }],
};

export const performer: KindForm<"performer"> = {
  kind: "performer", many: "Performers", one: "performer",
  about: "Who wears the make-up, doubles too.",
  defaults: { allergies: {}, patch_tests: {} },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true, capitals: "words" },
    {
      sort: "pick", name: "doubles", label: "Doubles for", none: "Nobody", hint: "A stunt or photo double wears the same looks and needs copies of their own.",
      options: (draft, id) => optionsFor("performer", draft.doubles).filter((option) => option.value !== id),
    },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3, hint: "Seen by the whole crew. Nothing about health here." },
    { sort: "part", name: "allergies", label: "Allergies", part: Allergies, empty: () => ({}), when: () => session.seesHealth },
    { sort: "part", name: "patch_tests", label: "Patch tests", part: PatchTests, empty: () => ({}), when: () => session.seesHealth },
  ],
  check: (draft): Errors => {
    for (const one of Object.values((draft.allergies ?? {}) as Record<string, { substance?: string }>)) {
      if (!one.substance?.trim()) return { allergies: "Each allergy needs a substance; take out the empty one" };
    }
    for (const one of Object.values((draft.patch_tests ?? {}) as Record<string, { material?: string; applied_on?: string; readings?: Record<string, { read_on?: string; result?: string }> }>)) {
      if (!one.material || !one.applied_on) return { patch_tests: "Each patch test needs a material and the day it was applied" };
      for (const reading of Object.values(one.readings ?? {})) {
        if (!reading.read_on || !reading.result) return { patch_tests: "Each reading needs its day and what was seen" };
        if (reading.read_on < one.applied_on) return { patch_tests: "A reading is dated before the test was applied" };
      }
    }
    return {};
  },
  second: ({ document }) => (document.doubles ? `Doubles for ${nameOf("performer", document.doubles)}` : ""),
};

export const character: KindForm<"character"> = {
  kind: "character", many: "Characters", one: "character",
  about: "Who is seen on screen, and who plays them.",
  defaults: {},
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true, capitals: "words" },
    { sort: "pick", name: "performer", label: "Played by", none: "Not cast yet", options: (draft) => optionsFor("performer", draft.performer).filter(({ value }) => !recordsOf("performer").get(value)?.document.doubles || value === draft.performer) },
  ],
  second: ({ document }) => (document.performer ? nameOf("performer", document.performer) : "Not cast yet"),
};
