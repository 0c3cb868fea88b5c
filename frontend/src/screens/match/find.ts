// Finds looks by what somebody on set would say: "42", "scene 42A", "story day 3", "CB-07", "tamsin brow".
//
//   find("42 tamsin", facts)   one line for every look in a scene, or copy, that fits all of it; what fits best comes first

import { compareScenes, type Seen, seenIn, type SceneRow } from "../../domain/storyOrder";
import type { ApplianceDocument, CharacterDocument, CopyDocument, Id, LookDocument, PerformerDocument } from "../../types";
import type { ApplicationRow } from "../../domain/wantedAngles";

export interface FindFacts {
  scenes: readonly SceneRow[];
  looks: ReadonlyMap<Id, LookDocument>;
  characters: ReadonlyMap<Id, CharacterDocument>;
  performers: ReadonlyMap<Id, PerformerDocument>;
  appliances: ReadonlyMap<Id, ApplianceDocument>;
  copies: readonly { id: Id; document: CopyDocument }[];
  applications: readonly ApplicationRow[];
}

export interface Narrowed { performer?: Id | undefined; storyDay?: number | undefined }

/** A look in a scene; a copy with the application it went on with, or none; or a look that no scene has. */
export type Found =
  | { sort: "scene"; look: Id; scene: Id; performer?: Id }
  | { sort: "copy"; look: Id; copy: Id; application?: Id; performer?: Id }
  | { sort: "look"; look: Id; performer?: Id };

interface Entry { found: Found; number?: string; storyDay?: number; serial?: string; words: string[]; place: readonly [number, number] }

const plain = (text: string): string => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
const wordsOf = (...texts: (string | undefined)[]): string[] => texts.flatMap((text) => plain(text ?? "").split(/[^\p{L}\p{N}-]+/u)).filter(Boolean);

/** `said` is "day 3" as it may stand in a look's name too: "Cut brow, day 3". */
interface Asked { scene?: string; storyDay?: number; said?: string; words: string[] }

/** "Scene 42", "sc 42" and "story day 3", "day 3", "d3" are taken out; the other words are left. */
export function read(text: string): Asked {
  const asked: Asked = { words: [] };
  const rest = plain(text)
    .replace(/\b(story\s*day|day|sd|d)\s*(-?\d+)\b/u, (_, before: string, day: string) => {
      asked.storyDay = Number(day);
      if (before === "day") asked.said = `day ${day}`;
      return " ";
    })
    .replace(/\b(?:scene|sc)\.?\s*([\p{L}]?\d+[\p{L}\d.-]*)/u, (_, number: string) => ((asked.scene = number), " "));
  asked.words = rest.split(/[\s,;·:]+/u).filter((word) => word && word !== "scene" && word !== "story" && word !== "day");
  return asked;
}

/** How well a word fits, 0 the best; null when it does not. */
function fit(word: string, entry: Entry): number | null {
  const starts = (text: string | undefined): number | null => (text === undefined ? null : text === word ? 0 : text.startsWith(word) ? 1 : null);
  const fits = [
    starts(entry.number), starts(entry.serial), starts(entry.serial?.replace(/[^\p{L}\p{N}]/gu, "")),
    entry.words.some((one) => one.startsWith(word)) ? 2 : null,
    // A bare number is a scene before it is a story day.
    entry.storyDay !== undefined && String(entry.storyDay) === word ? 3 : null,
  ].filter((one) => one !== null);
  return fits.length ? Math.min(...fits) : null;
}

export function find(text: string, facts: FindFacts, narrowed: Narrowed = {}): Found[] {
  const asked = read(text);
  const ranked: { found: Found; rank: number; place: readonly [number, number] }[] = [];
  for (const entry of entriesOf(facts, narrowed, asked.words.length > 0)) {
    if (asked.scene !== undefined && !entry.number?.startsWith(asked.scene)) continue;
    const named = !!asked.said && ` ${entry.words.join(" ")} `.includes(` ${asked.said} `);
    if (asked.storyDay !== undefined && entry.storyDay !== asked.storyDay && !named) continue;
    const fits = asked.words.map((word) => fit(word, entry));
    if (fits.includes(null)) continue;
    const rank = (fits as number[]).reduce((sum, one) => sum + one, asked.scene !== undefined && entry.number !== asked.scene ? 1 : 0);
    ranked.push({ found: entry.found, rank, place: entry.place });
  }
  return ranked.sort((one, other) => one.rank - other.rank || one.place[0] - other.place[0] || one.place[1] - other.place[1]).map(({ found }) => found);
}

/** All that can be found, in story order, copies after scenes. Copies only where something is searched for. */
function* entriesOf(facts: FindFacts, { performer, storyDay }: Narrowed, copies: boolean): Generator<Entry> {
  const wears = (seen: Pick<Seen, "character" | "performer">): Id | undefined => seen.performer ?? facts.characters.get(seen.character)?.performer;
  const named = (look: LookDocument | undefined, person: Id | undefined): string[] =>
    wordsOf(facts.performers.get(person ?? "")?.name, facts.characters.get(look?.character ?? "")?.name, look?.name, look?.progression, ...(look?.appliances ?? []).map((id) => facts.appliances.get(id)?.name));
  const inScenes = new Set<Id>();
  const scenes = [...facts.scenes].sort((one, other) => compareScenes(one.document, other.document));
  for (const [index, scene] of scenes.entries()) {
    const day = scene.document.story_day;
    for (const seen of seenIn(scene)) {
      inScenes.add(seen.look);
      const person = wears(seen);
      if ((performer && person !== performer) || (storyDay !== undefined && day !== storyDay)) continue;
      yield {
        found: { sort: "scene", look: seen.look, scene: scene.id, ...(person ? { performer: person } : {}) },
        number: plain(scene.document.number), ...(day !== undefined ? { storyDay: day } : {}), words: named(facts.looks.get(seen.look), person), place: [0, index],
      };
    }
  }
  if (storyDay === undefined) {
    for (const [id, look] of facts.looks) {
      const person = facts.characters.get(look.character)?.performer;
      if (inScenes.has(id) || (performer && person !== performer)) continue;
      yield { found: { sort: "look", look: id, ...(person ? { performer: person } : {}) }, words: named(look, person), place: [1, look.position ?? 0] };
    }
  }
  if (!copies || storyDay !== undefined) return;
  const usedIn = new Map<Id, ApplicationRow>();
  for (const row of facts.applications) for (const use of Object.values(row.document.copies ?? {})) usedIn.set(use.copy_used, row);
  for (const [index, copy] of facts.copies.entries()) {
    const sheet = usedIn.get(copy.id);
    const look = sheet?.document.look ?? [...facts.looks].find(([, one]) => one.appliances?.includes(copy.document.appliance))?.[0];
    const person = sheet?.document.performer;
    if (!look || (performer && person !== performer)) continue;
    // By its serial alone: by name the copies of a look would bury the look.
    yield { found: { sort: "copy", look, copy: copy.id, ...(sheet ? { application: sheet.id, performer: sheet.document.performer } : {}) }, serial: plain(copy.document.serial), words: [], place: [2, index] };
  }
}
