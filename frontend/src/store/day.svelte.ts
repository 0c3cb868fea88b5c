// What the screens know of a day: people, spares, and how a new sheet is filled in beforehand.

import { type CopyNow, copyStates, nextCopies, scenesShot } from "../domain/copyState";
import { newId } from "../domain/id";
import { EDGE_SOLVENTS } from "../domain/sheetWarnings";
import { type DayFacts, matchSittings, peopleOf, type Person, type Sitting } from "../domain/today";
import type { ApplicationDocument, Day, Documents, Grade, Id, Kind, Rec } from "../types";
import { recordsOf, todayOnSet } from "./live.svelte";

export const documents = <K extends Kind>(kind: K): Map<Id, Documents[K]> => new Map(recordsOf(kind).all.map((row) => [row.id, row.document]));

export function dayFacts(): DayFacts {
  return { looks: documents("look"), scenes: documents("scene"), characters: documents("character"), appliances: documents("appliance") };
}

export const statesNow = (): Map<Id, CopyNow> => copyStates(recordsOf("copy").list, recordsOf("application").list);

/** What the copies are for: a look may ask for another grade than the appliance's own, and copies may be set aside for a scene. */
export interface Purpose { look?: Id; scenes?: readonly Id[] }

/** The grade a look asks for of an appliance; the appliance's own where it says nothing. */
export const gradeWanted = (appliance: Id, look: Id | undefined): Grade =>
  recordsOf("look").get(look)?.document.grades?.[appliance] ?? recordsOf("appliance").get(appliance)?.document.grade ?? "hero";

/** The numbers of the scenes that have not been shot before that day. */
export function scenesAhead(day: Day): Map<Id, string> {
  const gone = scenesShot(recordsOf("scene").all, recordsOf("shoot_day").list, day);
  return new Map(recordsOf("scene").list.filter(({ id }) => !gone.has(id)).map(({ id, document }) => [id, document.number]));
}
const shot = $derived(scenesShot(recordsOf("scene").all, recordsOf("shoot_day").list, todayOnSet()));

export function nextCopiesOf(appliance: Id, states: ReadonlyMap<Id, CopyNow>, day: Day, { look, scenes }: Purpose = {}): Rec<"copy">[] {
  const row = recordsOf("appliance").get(appliance);
  return row ? nextCopies({ id: appliance, document: { grade: gradeWanted(appliance, look) } }, recordsOf("copy").list, states, day, scenes, shot) : [];
}

/** How many copies could be put on that day, counted on this phone: they fall at once, with no network. */
export const sparesOf = (appliance: Id, states: ReadonlyMap<Id, CopyNow>, day: Day, purpose: Purpose = {}): number => nextCopiesOf(appliance, states, day, purpose).length;

export interface DayPeople {
  shootDay: Rec<"shoot_day">;
  people: { person: Person; bySitting: Map<Sitting, Id> }[];
}

/** The shoot days of a date with their people, and the applications of that date that answer no planned sitting. */
export function peopleOn(day: Day): { days: DayPeople[]; unplanned: Rec<"application">[] } {
  const facts = dayFacts();
  const applications = recordsOf("application").list.filter((row) => row.document.date === day);
  let left = applications.map((row) => ({
    id: row.id, performer: row.document.performer, look: row.document.look, date: day, started: row.document.started_at ?? row.happened_at,
  }));
  const days = recordsOf("shoot_day").list
    .filter((row) => row.document.date === day)
    .sort((one, other) => one.document.crew_call.localeCompare(other.document.crew_call))
    .map((shootDay) => ({
      shootDay,
      people: peopleOf(shootDay.id, shootDay.document, facts).map((person) => {
        const { bySitting } = matchSittings(person, left);
        const answered = new Set(bySitting.values());
        left = left.filter((one) => !answered.has(one.id));
        return { person, bySitting };
      }),
    }));
  const unanswered = new Set(left.map((one) => one.id));
  return { days, unplanned: applications.filter((row) => unanswered.has(row.id)) };
}

/** The copies to take next for these appliances, as many as one application needs. */
export function proposedCopies(appliances: Id[], day: Day, purpose: Purpose): NonNullable<ApplicationDocument["copies"]> {
  const states = statesNow();
  const copies: NonNullable<ApplicationDocument["copies"]> = {};
  for (const id of appliances) {
    const count = recordsOf("appliance").get(id)?.document.copies_per_application ?? 1;
    for (const copy of nextCopiesOf(id, states, day, purpose).slice(0, count)) copies[newId()] = { copy_used: copy.id, outcome: "good" };
  }
  return copies;
}

/** The appliances of a look that this performer wears: those made for them, and the generic ones. */
export function appliancesFor(look: Id, performer: Id): Id[] {
  return (recordsOf("look").get(look)?.document.appliances ?? []).filter((id) => {
    const made = recordsOf("appliance").get(id)?.document.performer;
    return !made || made === performer;
  });
}

/** A new sheet as it is most likely to be: the next copies, and what was used last for this look on this performer. */
export function draftSheet(given: { performer: Id; look: Id; date: Day; artist: Id; scenes: Id[]; appliances: Id[] }): ApplicationDocument {
  const before = recordsOf("application").list
    .filter((row) => row.document.look === given.look)
    .sort((one, other) =>
      Number(other.document.performer === given.performer) - Number(one.document.performer === given.performer) ||
      (other.document.started_at ?? other.happened_at).localeCompare(one.document.started_at ?? one.happened_at))[0]?.document;
  const samePerformer = before?.performer === given.performer;
  const adhesives = Object.fromEntries(Object.values((samePerformer && before?.adhesives) || {}).map((use) => [newId(), { ...use }]));
  const solvent = edgeSolventFor(given.appliances, given.date, before?.edge_solvent);
  const recipe = recordsOf("recipe").list
    .filter((row) => row.document.look === given.look)
    .sort((one, other) => (other.document.version ?? 1) - (one.document.version ?? 1))[0];
  return {
    performer: given.performer, look: given.look, date: given.date, artist: given.artist, scenes: given.scenes, copies: proposedCopies(given.appliances, given.date, given), adhesives,
    ...(solvent ? { edge_solvent: solvent } : {}),
    ...(recipe ? { recipe: recipe.id } : {}),
    ...(before?.sealer ? { sealer: before.sealer } : {}),
  };
}

/** The edge solvent used last, where it fits these appliances and is in date; else one that is and does. */
function edgeSolventFor(appliances: Id[], day: Day, last: Id | undefined): Id | undefined {
  const wanted = appliances.flatMap((id) => recordsOf("appliance").get(id)?.document ?? []);
  const fits = (row: Rec<"material">): boolean => {
    const { solvent, expires_on: expires } = row.document;
    return !!solvent && !(expires && expires < day) && wanted.every((appliance) => EDGE_SOLVENTS[appliance.encapsulator].includes(solvent));
  };
  const solvents = recordsOf("material").list.filter((row) => row.document.use === "edge_solvent" && fits(row));
  return (solvents.find((row) => row.id === last) ?? (wanted.length ? solvents[0] : undefined))?.id;
}
