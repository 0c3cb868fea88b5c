// Why a photo cannot be shown here, in the words that every screen has for it. Call it in markup or $derived.

import { recordsOf } from "../store/live.svelte";

export function whyAbsent(sha256: string | undefined): string {
  const files = recordsOf("application").list.map((row) => row.derived.files?.[sha256 ?? ""]);
  return files.includes("unreadable") ? "Kept, but nothing can be shown of it" : files.includes("awaited") ? "Still on the phone that took it" : "Not on this phone";
}
