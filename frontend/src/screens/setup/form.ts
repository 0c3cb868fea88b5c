// The draft of a form: from a document, checked, and back into the smallest patch.

import { diffPatch, isObject, sameJson } from "../../domain/mergePatch";
import type { Id, JsonObject } from "../../types";
import type { Draft, Errors, FieldOf } from "./fields";

const copyOf = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

/** A document with its defaults written out, as a form shows it. */
export function draftOf(defaults: Draft, document: JsonObject): Draft {
  return copyOf({ ...defaults, ...document });
}

function tidy(value: unknown): unknown {
  if (typeof value === "string") return value.trim() === "" ? undefined : value.trim();
  if (Array.isArray(value)) return value.map(tidy).filter((one) => one !== undefined);
  if (isObject(value)) {
    return Object.fromEntries(Object.entries(value).map(([name, one]) => [name, tidy(one)]).filter(([, one]) => one !== undefined));
  }
  return value ?? undefined;
}

/**
 * The draft as a document: words trimmed, what is empty left out, but for lists of `emptySays`, whose default is not the
 * empty one. A keyed list stays, so that emptying it is said item by item.
 */
export function documentOf(draft: Draft, emptySays: readonly string[] = []): JsonObject {
  const whole = tidy(draft) as JsonObject;
  return Object.fromEntries(Object.entries(whole).filter(([name, value]) => emptySays.includes(name) || !(Array.isArray(value) && value.length === 0)));
}

/** A new record's document: keyed lists without items are left out too (a role that may not write them says nothing of them). */
export function newDocumentOf(draft: Draft, emptySays: readonly string[] = []): JsonObject {
  return Object.fromEntries(Object.entries(documentOf(draft, emptySays)).filter(([, value]) => !(isObject(value) && Object.keys(value).length === 0)));
}

/** What has been changed in the form, as a merge patch. */
export const patchOf = (before: Draft, draft: Draft, emptySays: readonly string[] = []): JsonObject => diffPatch(documentOf(before, emptySays), documentOf(draft, emptySays));

/**
 * The record was changed elsewhere while the form was open: what is untouched here takes the new value. Returns the new
 * draft and the names of the fields written on both sides.
 */
export function rebase(before: Draft, draft: Draft, incoming: Draft): { draft: Draft; clashes: string[] } {
  const next: Draft = {};
  const clashes: string[] = [];
  for (const name of new Set([...Object.keys(before), ...Object.keys(draft), ...Object.keys(incoming)])) {
    const mine = !sameJson(tidy(before[name]), tidy(draft[name]));
    const theirs = !sameJson(tidy(before[name]), tidy(incoming[name]));
    next[name] = copyOf({ value: mine ? draft[name] : incoming[name] }).value;
    if (mine && theirs && !sameJson(tidy(draft[name]), tidy(incoming[name]))) clashes.push(name);
  }
  return { draft: next, clashes };
}

const isEmpty = (value: unknown): boolean =>
  value === undefined || value === null || (typeof value === "string" && value.trim() === "") || (Array.isArray(value) && value.length === 0);

/** The bounds the server holds too, told beside the field. */
export function checkFields(fields: readonly FieldOf[], draft: Draft, id: Id | null): Errors {
  const errors: Errors = {};
  for (const field of fields) {
    if (field.when && !field.when(draft, id)) continue;
    const value = draft[field.name];
    if (isEmpty(value)) {
      if (field.required) errors[field.name] = field.sort === "pick" || field.sort === "many" || field.sort === "choice" ? "Choose one" : "This is needed";
      continue;
    }
    const wrong = checkValue(field, value);
    if (wrong) errors[field.name] = wrong;
  }
  return errors;
}

function checkValue(field: FieldOf, value: unknown): string | null {
  switch (field.sort) {
    case "text":
      return String(value).trim().length > field.max ? `At most ${field.max} characters` : null;
    case "number": {
      const number = value as number;
      return Number.isInteger(number) && number >= field.min && number <= field.max ? null : `A whole number from ${field.min} to ${field.max}`;
    }
    case "minutes": {
      const number = value as number;
      return Number.isInteger(number) && number >= field.min && number <= field.max ? null : `From ${field.min} min to ${field.max / 60} h`;
    }
    case "decimal": {
      const number = value as number;
      return decimalError(number, field);
    }
    case "date":
      return dayError(value as string);
    default:
      return null;
  }
}

export interface DecimalBounds { above?: number | undefined; least?: number | undefined; below?: number | undefined; most?: number | undefined; times?: number | undefined }

/** What is wrong with a number that need not be whole, in the unit it is shown in, or null. */
export function decimalError(number: number, { above = 0, least, below, most, times = 1 }: DecimalBounds): string | null {
  const high = below ?? most ?? Infinity;
  const fits = Number.isFinite(number) && (least === undefined ? number > above : number >= least) && (below === undefined ? number <= high : number < high);
  const low = least === undefined ? `Above ${above * times}` : `At least ${least * times}`;
  return fits ? null : `${low} and ${below === undefined ? "at most" : "below"} ${high * times}`;
}

/** Days are taken from 1950 to 2150. */
export function dayError(day: string): string | null {
  const year = Number(day.slice(0, 4));
  return /^\d{4}-\d\d-\d\d$/.test(day) && year >= 1950 && year <= 2150 ? null : "A date between 1950 and 2150";
}
