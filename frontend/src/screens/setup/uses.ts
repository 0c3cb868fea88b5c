import { recordsOf } from "../../store/live.svelte";
import type { Id, Kind, Rec } from "../../types";
import { titleOf } from "./names";

const NAMING: readonly Kind[] = ["character", "performer", "look", "scene", "shoot_day", "appliance", "mould", "cast_run", "order", "parcel", "copy", "recipe", "application"];

/** The records that name this one, by their words. */
export function usesOf(id: Id): string[] {
  return NAMING.flatMap((kind) => (recordsOf(kind).list as Rec[]).filter((found) => found.id !== id && JSON.stringify(found.document).includes(id)).map(titleOf));
}
