// What an entry changes, in the trade's words.

import type { OutboxRow } from "../../db";
import { isObject } from "../../domain/mergePatch";
import { words } from "../../domain/words";
import { recordsOf } from "../../store/live.svelte";
import { recordName } from "../../store/names.svelte";
import type { Kind } from "../../types";

const FIELD: Record<string, string> = {
  started_at: "started", ready_at: "ready", on_camera_at: "on camera", removed_at: "removed", skin_after: "skin after", copy_after: "copy after",
  overridden: "warnings gone past", health_overridden: "warnings gone past", edge_solvent: "edge solvent", recipe_differences: "what differed today",
  touch_ups: "touch-ups", story_day: "story day", use_by: "use by", expires_on: "expiry", cast_on: "cast on", chair_minutes: "chair time",
  crew_call: "crew call", established_reason: "why it is established", page_eighths: "page eighths", settled: "settled",
};

export const fieldWords = (name: string): string => FIELD[name] ?? name.replaceAll("_", " ");

export function changeWords(row: Pick<OutboxRow, "patch" | "withdrawn" | "based_on" | "kind">): string {
  if (row.withdrawn !== undefined) return `Taken back: ${row.withdrawn}`;
  const names = Object.keys(row.patch);
  if (row.based_on === null && row.kind !== "application") return "New";
  const said = names
    .filter((name) => row.kind !== "application" || !["performer", "look", "date", "artist"].includes(name))
    .flatMap((name) => {
      const value = row.patch[name];
      if (isObject(value) && ["copies", "photos", "touch_ups", "breaks", "adhesives"].includes(name)) {
        const count = Object.keys(value).length;
        if (!count) return [];
        return [`${count} ${count === 1 ? fieldWords(name).replace(/ies$/, "y").replace(/s$/, "") : fieldWords(name)}`];
      }
      return [fieldWords(name)];
    });
  return `${row.based_on === null ? "New: " : ""}${[...new Set(said)].join(", ")}` || "New";
}

const ID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/** A value of a document for reading: a choice in its words, another record by its name, a moment as it is. Call it in
    markup or $derived: it follows the records. */
export function valueWords(value: unknown): string {
  if (value === undefined || value === null) return "nothing";
  if (typeof value === "string") {
    if (ID.test(value)) {
      const kind = (Object.keys(words.kind) as Kind[]).find((one) => recordsOf(one).get(value));
      return kind ? recordName(kind, value) : "not known here";
    }
    for (const table of Object.values(words)) if (value in table) return (table as Record<string, string>)[value]!;
    return value;
  }
  if (Array.isArray(value)) return value.length ? value.map(valueWords).join(", ") : "nothing";
  if (isObject(value)) return Object.entries(value).map(([name, inner]) => `${fieldWords(name)}: ${valueWords(inner)}`).join("; ");
  return String(value);
}

export const sizeWords = (bytes: number): string => (bytes < 1_000_000 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`);
