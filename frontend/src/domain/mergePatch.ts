// JSON Merge Patch (RFC 7396) as pure functions. Use: `mergePatch(document, patch)` gives the new document.

import type { JsonObject } from "../types";

export function isObject(value: unknown): value is JsonObject {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** RFC 7396, section 2. Neither argument is changed. */
export function mergePatch(target: unknown, patch: unknown): unknown {
  if (!isObject(patch)) return patch;
  const result: JsonObject = isObject(target) ? { ...target } : {};
  for (const [name, value] of Object.entries(patch)) {
    if (value === null) delete result[name];
    else result[name] = mergePatch(result[name], value);
  }
  return result;
}

/**
 * One patch that does what `first` and then `second` do to any document, or null where no merge patch can:
 * once `first` has put a plain value or a removal somewhere, an object in `second` would merge into the old members.
 */
export function composePatches(first: JsonObject, second: JsonObject): JsonObject | null {
  const result: JsonObject = { ...first };
  for (const [name, value] of Object.entries(second)) {
    const before = first[name];
    if (!isObject(value) || !(name in first)) {
      result[name] = value;
    } else if (isObject(before)) {
      const inner = composePatches(before, value);
      if (!inner) return null;
      result[name] = inner;
    } else {
      return null;
    }
  }
  return result;
}

/** Deep equality of JSON values; the order of members does not count. */
export function sameJson(one: unknown, other: unknown): boolean {
  if (one === other) return true;
  if (Array.isArray(one) && Array.isArray(other)) {
    return one.length === other.length && one.every((value, index) => sameJson(value, other[index]));
  }
  if (!isObject(one) || !isObject(other)) return false;
  const names = Object.keys(one);
  return names.length === Object.keys(other).length && names.every((name) => name in other && sameJson(one[name], other[name]));
}

/** The smallest merge patch that turns `before` into `after`, both objects without nulls. */
export function diffPatch(before: JsonObject, after: JsonObject): JsonObject {
  const patch: JsonObject = {};
  for (const name of Object.keys(before)) if (!(name in after)) patch[name] = null;
  for (const [name, value] of Object.entries(after)) {
    const old = before[name];
    if (sameJson(old, value)) continue;
    patch[name] = isObject(old) && isObject(value) ? diffPatch(old, value) : value;
  }
  return patch;
}
