// What is still missing of a production's set-up, in words, by kind.

import { dayWords } from "../../domain/moment";
import { words } from "../../domain/words";
import type { Day, Documents, Id, Kind } from "../../types";

type Row<K extends Kind> = { id: Id; document: Documents[K] };
export interface Shelves {
  today: Day;
  character: readonly Row<"character">[];
  look: readonly Row<"look">[];
  appliance: readonly Row<"appliance">[];
  mould: readonly Row<"mould">[];
  cast_run: readonly Row<"cast_run">[];
  copy: readonly Row<"copy">[];
  material: readonly Row<"material">[];
  scene: readonly Row<"scene">[];
  shoot_day: readonly Row<"shoot_day">[];
}

const listed = (names: readonly string[]): string => listedWith(", ", names);
/** Names often have a comma in them: "Cut brow, left". */
const named = (rows: readonly { document: { name: string } }[]): string => listedWith("; ", rows.map(({ document }) => document.name));
const listedWith = (between: string, names: readonly string[]): string => (names.length <= 3 ? names.join(between) : `${names.slice(0, 3).join(between)} and ${names.length - 3} more`);

const FINDERS: { [K in Kind]?: (all: Shelves) => (string | false)[] } = {
  character: ({ character }) => {
    const uncast = character.filter(({ document }) => !document.performer);
    return [uncast.length > 0 && `Nobody plays ${named(uncast)} yet, so their looks count for nothing in the cover.`];
  },
  appliance: ({ appliance, copy, cast_run }) => {
    const bare = appliance.filter(({ id }) => !copy.some(({ document }) => document.appliance === id) && !cast_run.some(({ document }) => document.appliance === id));
    return [bare.length > 0 && `No copy yet of ${named(bare)}.`];
  },
  look: ({ look, character }) => {
    // A bare look beside made-up ones is meant so.
    const plain = character.filter(({ id }) => !look.some(({ document }) => document.character === id && document.appliances?.length));
    return [look.length > 0 && plain.length > 0 && `No look with an appliance yet for ${named(plain)}.`];
  },
  cast_run: ({ cast_run, copy, appliance, today }) => {
    const nameOf = (id: Id): string => appliance.find((one) => one.id === id)?.document.name ?? "a piece not here yet";
    const late = cast_run.filter(({ document }) => document.good === undefined && document.due_on < today);
    const unmade = cast_run.filter(({ id, document }) => (document.good ?? 0) > copy.filter((one) => one.document.cast_run === id).length);
    return [
      late.length > 0 && `Past the day it was due and without a result: ${listed(late.map(({ document }) => `${nameOf(document.appliance)} (${dayWords(document.due_on)})`))}.`,
      unmade.length > 0 && `Good copies not entered yet: ${listed(unmade.map(({ id, document }) => `${(document.good ?? 0) - copy.filter((one) => one.document.cast_run === id).length} of ${nameOf(document.appliance)}`))}.`,
    ];
  },
  copy: ({ copy, today }) => {
    const undated = copy.filter(({ document }) => document.state === "in_transit" && !document.expected_on);
    const late = copy.filter(({ document }) => document.state === "in_transit" && document.expected_on !== undefined && document.expected_on < today);
    return [
      undated.length > 0 && `In transit without an expected date, so they count for nothing in the cover: ${listed(undated.map(({ document }) => document.serial))}.`,
      late.length > 0 && `Expected before today and still in transit: ${listed(late.map(({ document }) => document.serial))}.`,
    ];
  },
  material: ({ appliance, material, today }) => {
    const there = new Set(material.map(({ document }) => document.solvent));
    const wanted = [...new Set(appliance.map(({ document }) => document.edge_solvent))].filter((solvent) => !there.has(solvent));
    const old = material.filter(({ document }) => document.expires_on !== undefined && document.expires_on < today);
    return [
      wanted.length > 0 && `An edge needs a solvent that is not in the list: ${listed(wanted.map((solvent) => words.edge_solvent[solvent].toLowerCase()))}.`,
      appliance.length > 0 && !material.some(({ document }) => document.use === "adhesive") && "No adhesive in the list.",
      old.length > 0 && `Past its date: ${named(old)}.`,
    ];
  },
  scene: ({ scene, shoot_day }) => {
    const planned = new Set(shoot_day.flatMap(({ document }) => (document.scenes ?? []).map((one) => one.scene)));
    const unplanned = scene.filter(({ id }) => !planned.has(id));
    return [shoot_day.length > 0 && unplanned.length > 0 && `On no shoot day: ${listed(unplanned.map(({ document }) => document.number))}.`];
  },
  shoot_day: ({ shoot_day }) => {
    const empty = shoot_day.filter(({ document }) => !document.scenes?.length);
    return [empty.length > 0 && `No scenes on ${listed(empty.map(({ document }) => dayWords(document.date)))}.`];
  },
};

export const gaps = (kind: Kind, all: Shelves): string[] => (FINDERS[kind]?.(all) ?? []).filter((gap) => gap !== false);
