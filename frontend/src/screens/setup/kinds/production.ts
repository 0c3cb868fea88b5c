import type { Errors, KindForm } from "../fields";
import { timeZones, zoneError } from "../timeZones";

export const production: KindForm<"production"> = {
  kind: "production", many: "Production", one: "production",
  about: "Its name, where it shoots, and how sure the cover has to be.",
  defaults: { time_zone: "Europe/London", cover_target: 0.98, prior_good: 9, prior_spoiled: 1 },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true, capitals: "words" },
    { sort: "text", name: "time_zone", label: "Time zone", max: 500, required: true, suggest: timeZones, hint: "Where it shoots, such as Europe/London. All times on screen are in it." },
    {
      sort: "decimal", name: "cover_target", label: "Cover wanted", above: 0, below: 1, times: 100, unit: "% sure", required: true,
      hint: "How sure it must be that no planned application goes without a copy. Below it, an appliance is shown as at risk.",
    },
    {
      sort: "decimal", name: "prior_good", label: "Reckoned as gone well", above: 0, most: 10_000, unit: "copies", required: true,
      hint: "Before your own log says how often a copy is spoiled, the cover reckons as if this many had gone well…",
    },
    {
      sort: "decimal", name: "prior_spoiled", label: "Reckoned as spoiled", above: 0, most: 10_000, unit: "copies", required: true,
      hint: "…and this many had been spoiled. 9 and 1 stand for ten copies of which nine in ten hold. The larger the two, the longer your own log takes to outweigh them.",
    },
  ],
  check: (draft): Errors => {
    const error = zoneError(String(draft.time_zone ?? ""));
    return error ? { time_zone: error } : {};
  },
};
