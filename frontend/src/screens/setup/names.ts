// How a record is called on the screen. Read in markup or in $derived: the words follow the records.

import { dayWords } from "../../domain/moment";
import { words } from "../../domain/words";
import { recordsOf } from "../../store/live.svelte";
import type { Documents, Id, Kind, Rec } from "../../types";
import type { Option } from "./fields";

const NAMERS: { [K in Kind]: (document: Documents[K]) => string } = {
  production: (document) => document.name,
  unit: (document) => document.name,
  character: (document) => document.name,
  performer: (document) => document.name,
  look: (document) => `${nameOf("character", document.character)}: ${document.name}`,
  scene: (document) => `Scene ${document.number}`,
  shoot_day: (document) => `${dayWords(document.date)}, ${nameOf("unit", document.unit)}`,
  appliance: (document) => document.name,
  mould: (document) => document.name,
  cast_run: (document) => `${nameOf("appliance", document.appliance)}, cast ${dayWords(document.cast_on)}`,
  copy: (document) => document.serial,
  material: (document) => (document.lot ? `${document.name}, lot ${document.lot}` : document.name),
  recipe: (document) => `${document.name}, version ${document.version ?? 1}`,
  application: (document) => `${nameOf("performer", document.performer)}, ${nameOf("look", document.look)}, ${dayWords(document.date)}`,
  order: (document) => `${document.copies} of ${nameOf("appliance", document.appliance)}`,
  verdict: (document) => `${nameOf("application", document.application)}: ${words.verdict[document.verdict]}`,
  photo_guide: () => words.kind.photo_guide,
  colour_measurement: (document) => `${words.kind.colour_measurement}, ${nameOf("look", document.look)}`,
  parcel: (document) => `Parcel packed ${dayWords(document.packed_on)}`,
  count: (document) => `${words.kind.count} of ${nameOf("appliance", document.appliance)}`,
  conflict: () => words.kind.conflict,
  crew: (document) => document.name,
};

/** A record that is still being fetched, or was never on this phone, has no name yet. */
export function titleOf(found: Rec): string {
  try {
    return NAMERS[found.kind](found.document as never);
  } catch {
    return words.kind[found.kind];
  }
}

export function nameOf(kind: Kind, id: Id | undefined): string {
  const found = recordsOf(kind).get(id) as Rec | undefined;
  return found ? titleOf(found) : "not here yet";
}

export const byName = (one: { words: string }, other: { words: string }): number => one.words.localeCompare(other.words, "en", { numeric: true });

/** The records of a kind to choose from, by name. One that was chosen and has since been withdrawn stays to be seen. */
export function optionsFor(kind: Kind, chosen?: unknown): Option[] {
  const records = recordsOf(kind);
  const options = (records.list as Rec[]).map((found) => ({ value: found.id, words: titleOf(found) })).sort(byName);
  if (typeof chosen === "string" && chosen && !options.some((option) => option.value === chosen)) {
    const gone = records.get(chosen) as Rec | undefined;
    options.push({ value: chosen, words: gone ? `${titleOf(gone)} (withdrawn)` : "not here yet" });
  }
  return options;
}
