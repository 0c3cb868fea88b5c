// What was last looked for in Match, so that the way back from a look leads to the same list. Gone when the app is closed.

import { session } from "../../sync/session.svelte";
import type { Id } from "../../types";

let last: { production: Id | null; query: string } = { production: null, query: "" };

/** `query` as it stands in the address. */
export function keepFind(query: string): void {
  last = { production: session.chosen, query };
}

export const hrefOfFind = (): string => (last.query && last.production === session.chosen ? `#/match?${last.query}` : "#/match");
