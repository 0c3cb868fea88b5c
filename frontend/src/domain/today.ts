// The day's people in order of call, each with the sittings the schedule asks for.
//
// A sitting is one time in the chair for a look. A new one begins with the first scene of the day in the look, after a
// change of look, after the make-up was planned to come off, and when an appliance would pass its wear limit (then for
// that appliance only). Worn through neighbouring scenes is one. The server counts demand by the same rules in
// continuity/cover/demand.py, which has them in full; common practice, no source.

import type { ApplianceDocument, CharacterDocument, ClockTime, Day, Id, LookDocument, PlannedScene, SceneDocument, ShootDayDocument } from "../types";
import { minutesOf } from "./moment";

export interface DayFacts {
  looks: ReadonlyMap<Id, LookDocument>;
  scenes: ReadonlyMap<Id, SceneDocument>;
  characters: ReadonlyMap<Id, CharacterDocument>;
  appliances: ReadonlyMap<Id, ApplianceDocument>;
}

export interface Sitting {
  look: Id;
  scenes: Id[];
  /** Those to be put on: fewer than the look has when only some pass their wear limit. */
  appliances: Id[];
  why: "first of the day" | "look change" | "taken off between" | "wear limit";
}

export interface Person {
  performer: Id;
  shootDay: Id;
  /** When they are called; the crew call where no call of their own is given. */
  call: ClockTime;
  ownCall: boolean;
  sittings: Sitting[];
  /** Looks worn that day of whose appliances none is made for this performer: nothing can be planned for them. */
  withoutPiece: Id[];
}

/** Who wears which look in a scene: the character's own performer unless a double is named. */
export function wearers(scene: SceneDocument, characters: DayFacts["characters"]): { performer: Id; look: Id }[] {
  return (scene.worn ?? []).flatMap((worn) => {
    const performer = worn.performer ?? characters.get(worn.character)?.performer;
    return performer && worn.look ? [{ performer, look: worn.look }] : [];
  });
}

/** The appliances of a look that this performer wears: those made for them, and the generic ones. */
export function piecesFor(performer: Id, look: Id, { looks, appliances }: Pick<DayFacts, "looks" | "appliances">): Id[] {
  return (looks.get(look)?.appliances ?? []).filter((one) => {
    const appliance = appliances.get(one);
    return appliance && (!appliance.performer || appliance.performer === performer);
  });
}

/** The look has appliances, and none of them fits this performer. */
export const isWithoutPiece = (performer: Id, look: Id, facts: Pick<DayFacts, "looks" | "appliances">): boolean =>
  !!facts.looks.get(look)?.appliances?.length && !piecesFor(performer, look, facts).length;

/** Start and end of each scene in minutes after midnight; scenes without planned minutes share what is left by page eighths. */
export function sceneTimes(day: ShootDayDocument, scenes: DayFacts["scenes"]): [number, number][] {
  const call = minutesOf(day.crew_call);
  let wrap = minutesOf(day.wrap);
  if (wrap <= call) wrap += 1440;
  const planned = day.scenes ?? [];
  const left = Math.max(0, wrap - call - planned.reduce((sum, scene) => sum + (scene.minutes ?? 0), 0));
  const open = planned.filter((scene) => scene.minutes === undefined);
  const eighthsOf = (scene: PlannedScene): number => scenes.get(scene.scene)?.page_eighths ?? 0;
  const eighths = open.reduce((sum, scene) => sum + eighthsOf(scene), 0);
  const whole = eighths || open.length;
  let at = call;
  let weight = 0;
  return planned.map((scene) => {
    let minutes = scene.minutes;
    if (minutes === undefined) {
      const before = Math.floor((left * weight) / whole);
      weight += eighths ? eighthsOf(scene) : 1;
      minutes = Math.floor((left * weight) / whole) - before;
    }
    const start = at;
    at += minutes;
    return [start, at];
  });
}

interface Face { look: Id; on: Map<Id, number>; takenOff: boolean; sitting: Sitting | null }

/** The people of one shoot day, in order of call. */
export function peopleOf(id: Id, day: ShootDayDocument, facts: DayFacts): Person[] {
  const people = new Map<Id, Person>();
  const faces = new Map<Id, Face>();
  const calls = new Map((day.calls ?? []).map((call) => [call.performer, call.time]));
  const personOf = (performer: Id): Person => {
    let person = people.get(performer);
    if (!person) {
      const own = calls.get(performer);
      people.set(performer, (person = { performer, shootDay: id, call: own ?? day.crew_call, ownCall: own !== undefined, sittings: [], withoutPiece: [] }));
    }
    return person;
  };
  for (const performer of calls.keys()) personOf(performer);

  const times = sceneTimes(day, facts.scenes);
  (day.scenes ?? []).forEach((planned, index) => {
    const scene = facts.scenes.get(planned.scene);
    const [startsAt, endsAt] = times[index]!;
    for (const { performer, look } of scene ? wearers(scene, facts.characters) : []) {
      const person = personOf(performer);
      const needed = piecesFor(performer, look, facts);
      if (isWithoutPiece(performer, look, facts) && !person.withoutPiece.includes(look)) person.withoutPiece.push(look);
      let face = faces.get(performer);
      let why: Sitting["why"];
      if (!face) {
        if (!needed.length) continue;
        faces.set(performer, (face = { look, on: new Map(), takenOff: false, sitting: null }));
        why = "first of the day";
      } else if (face.look !== look) {
        Object.assign(face, { look, on: new Map(), sitting: null });
        why = "look change";
      } else {
        why = face.takenOff ? "taken off between" : "wear limit";
      }
      face.takenOff = false;
      const begun: Id[] = [];
      for (const one of needed) {
        const since = face.on.get(one);
        const limit = facts.appliances.get(one)?.wear_limit_minutes;
        if (since !== undefined && (limit === undefined || endsAt - since <= limit)) continue;
        face.on.set(one, startsAt);
        begun.push(one);
      }
      if (begun.length) {
        face.sitting = { look, scenes: [], appliances: begun, why };
        person.sittings.push(face.sitting);
      }
      if (face.sitting && !face.sitting.scenes.includes(planned.scene)) face.sitting.scenes.push(planned.scene);
    }
    for (const performer of planned.taken_off_after ?? []) {
      const face = faces.get(performer);
      if (face) Object.assign(face, { on: new Map(), takenOff: true, sitting: null });
    }
  });
  return [...people.values()].sort((one, other) => one.call.localeCompare(other.call));
}

export interface Logged {
  id: Id;
  performer: Id;
  look: Id;
  date: Day;
  /** For the order of the day. */
  started: string;
}

/** Which logged application answers which sitting: by performer and look, in order; those left over were not planned. */
export function matchSittings(person: Person, logged: readonly Logged[]): { bySitting: Map<Sitting, Id>; unplanned: Id[] } {
  const left = logged.filter((one) => one.performer === person.performer).sort((one, other) => one.started.localeCompare(other.started));
  const bySitting = new Map<Sitting, Id>();
  for (const sitting of person.sittings) {
    const index = left.findIndex((one) => one.look === sitting.look);
    if (index >= 0) bySitting.set(sitting, left.splice(index, 1)[0]!.id);
  }
  return { bySitting, unplanned: left.map((one) => one.id) };
}
