// The words of a reason: why an application is planned, where copies are, at what time.

import type { ReasonsAnswer } from "../../answers";

export const WHY_WORDS: Record<string, string> = {
  "first of the day": "first of the day", "look change": "after a change of look", "taken off between": "put on again after it came off",
  "wear limit": "past its wear limit by then",
};

export const PLACE_WORDS: Record<ReasonsAnswer["supply"][number]["place"], string> = {
  on_set: "On set", in_transit: "In transit", shop: "In the shop", run: "From a cast run", order: "Still to come of an order", set_aside: "Set aside",
};

/** Minutes after midnight as a clock shows them: "06:30", "01:15 next day". */
export function clockWords(minutes: number): string {
  const clock = `${String(Math.trunc((minutes % 1440) / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
  return minutes >= 1440 ? `${clock} next day` : clock;
}
