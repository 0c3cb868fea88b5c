// What records are called on the screen. Call these in markup or $derived: they follow the records.

import { dayWords } from "../domain/moment";
import { words } from "../domain/words";
import type { ApplicationDocument, Documents, Id, JsonObject, Kind } from "../types";
import { recordsOf } from "./live.svelte";

const nameOf = (kind: "performer" | "character" | "unit" | "appliance" | "material" | "crew" | "mould" | "recipe", id: Id | undefined): string =>
  recordsOf(kind).get(id)?.document.name ?? "not known here";

export const performerName = (id: Id | undefined): string => nameOf("performer", id);
export const applianceName = (id: Id | undefined): string => nameOf("appliance", id);
export const crewName = (id: Id | undefined): string => nameOf("crew", id);
export const unitName = (id: Id | undefined): string => nameOf("unit", id);

/** "Mara: cut brow, one day old" */
export function lookName(id: Id | undefined): string {
  const look = recordsOf("look").get(id)?.document;
  return look ? `${nameOf("character", look.character)}: ${look.name}` : "not known here";
}

export function sceneNumber(id: Id | undefined): string {
  return recordsOf("scene").get(id)?.document.number ?? "?";
}

export function materialName(id: Id | undefined): string {
  const material = recordsOf("material").get(id)?.document;
  return material ? `${material.name}${material.lot ? `, lot ${material.lot}` : ""}` : "not known here";
}

export function copyName(id: Id | undefined): string {
  return recordsOf("copy").get(id)?.document.serial ?? "?";
}

export function recipeName(id: Id | undefined): string {
  const recipe = recordsOf("recipe").get(id)?.document;
  return recipe ? `${recipe.name}, version ${recipe.version ?? 1}` : "not known here";
}

export function applicationName(sheet: Pick<ApplicationDocument, "performer" | "look" | "date">): string {
  return `${performerName(sheet.performer)}, ${lookName(sheet.look)}, ${dayWords(sheet.date)}`;
}

/** Any record, with its kind in front: "Copy CB-07". */
export function recordName(kind: Kind, id: Id, document?: JsonObject): string {
  const known = (document ?? recordsOf(kind).get(id)?.document) as Partial<Documents[Kind]> & JsonObject | undefined;
  const label = words.kind[kind] ?? kind;
  if (!known) return label;
  if (kind === "application") return `${label}: ${applicationName(known as unknown as ApplicationDocument)}`;
  if (kind === "look") return `${label} ${known.character ? lookName(id) : String(known.name)}`;
  if (kind === "shoot_day") return `${label} ${known.date ? dayWords(String(known.date)) : ""}`;
  const title = known.name ?? known.serial ?? known.number;
  if (kind === "cast_run" || kind === "order" || kind === "count") return `${label} of ${applianceName(known.appliance as Id)}`;
  return title ? `${label} ${String(title)}` : label;
}
