import { optionsOf, words } from "../../../domain/words";
import type { Errors, KindForm } from "../fields";
import DatesOff from "../parts/DatesOff.svelte";
import { dayError } from "../form";
import { timeZones, zoneError } from "../timeZones";

export const production: KindForm<"production"> = {
  kind: "production", many: "Production", one: "production",
  about: "Its name, where it shoots, and how sure the cover has to be.",
  defaults: { time_zone: "Europe/London", cover_target: 0.98, prior_good: 9, prior_spoiled: 1, transport_days: 1, weekdays_off: ["sunday"], dates_off: [], pour_confidence: 0.9, yield_prior_good: 4, yield_prior_rejected: 1, scale_resolution_grams: 0.1, pour_waste_percent: 10, shop_celsius: 21, stirring_seconds: 60, seconds_a_cavity: 45, ratio_tolerance_percent: 2, colour_not_visible: 1, colour_close: 2, colour_visible: 4, label_page: "a4", label_rows: 7, label_columns: 3, label_margin_top_millimetres: 15, label_margin_side_millimetres: 7, label_gap_across_millimetres: 2.5, label_gap_down_millimetres: 0 },
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
    { sort: "number", name: "transport_days", label: "From the shop to the set", min: 0, max: 60, unit: "days", required: true, hint: "0 where the shop is beside the set. What is demoulded today is reckoned as there after so many days." },
    { sort: "many", name: "weekdays_off", label: "The shop does not pour on", options: () => optionsOf(words.weekday), emptySays: true },
    { sort: "part", name: "dates_off", label: "Other days off", part: DatesOff, empty: () => [], hint: "Holidays and shut-downs of the shop." },
    {
      sort: "decimal", name: "pour_confidence", label: "Pours wanted", above: 0, below: 1, times: 100, unit: "% sure", required: true,
      hint: "An order names so many pours that it is this sure that enough good copies come of them.",
    },
    {
      sort: "decimal", name: "yield_prior_good", label: "Poured and reckoned good", above: 0, most: 10_000, unit: "copies", required: true,
      hint: "Before a mould's own results say how many of its copies pass, it is reckoned as if this many had been good…",
    },
    {
      sort: "decimal", name: "yield_prior_rejected", label: "Poured and reckoned rejected", above: 0, most: 10_000, unit: "copies", required: true,
      hint: "…and this many rejected.",
    },
    {
      sort: "decimal", name: "colour_not_visible", label: "Not visible up to", heading: "Words for a difference of colour", above: 0, most: 100, unit: "CIEDE2000", required: true,
      hint: "Bounds for what a measured match is called. 1, 2 and 4 are common practice; change them to what your camera and your eyes say.",
    },
    { sort: "decimal", name: "colour_close", label: "Close up to", above: 0, most: 100, unit: "CIEDE2000", required: true },
    { sort: "decimal", name: "colour_visible", label: "Visible side by side up to", above: 0, most: 100, unit: "CIEDE2000", required: true, hint: "Beyond it: wrong." },
    { sort: "decimal", name: "scale_resolution_grams", label: "The scale shows steps of", heading: "The bench", least: 0.001, most: 100, unit: "g", required: true },
    { sort: "decimal", name: "pour_waste_percent", label: "Left in cups and on sticks", least: 0, most: 200, unit: "% on top", required: true },
    { sort: "decimal", name: "ratio_tolerance_percent", label: "A weight may be off the ratio by", above: 0, most: 50, unit: "%", required: true, hint: "Beyond it the bench says so at once." },
    { sort: "decimal", name: "shop_celsius", label: "The room has", least: -20, most: 60, unit: "°C", required: true },
    { sort: "decimal", name: "stirring_seconds", label: "Stirring a mix takes", least: 0, most: 3600, unit: "s", required: true, hint: "From when A meets B to the first drop poured." },
    { sort: "decimal", name: "seconds_a_cavity", label: "Filling one cavity takes", above: 0, most: 3600, unit: "s", required: true, hint: "With the pot life it says how many can be poured from one mix." },
    { sort: "decimal", name: "spray_room_cubic_metres", label: "The room that is sprayed in", above: 0, most: 100_000, unit: "m³" },
    { sort: "decimal", name: "air_changes_per_hour", label: "Its air changes", least: 0, most: 1000, unit: "times an hour", hint: "For the screening figure of solvent vapour on the ticket. It is no measurement: the safety data sheet and local rules decide." },
    { sort: "choice", name: "label_page", label: "Sheet of labels", heading: "Labels", options: () => optionsOf(words.label_page), required: true },
    { sort: "number", name: "label_rows", label: "Rows", min: 1, max: 40, required: true },
    { sort: "number", name: "label_columns", label: "Columns", min: 1, max: 20, required: true },
    { sort: "decimal", name: "label_margin_top_millimetres", label: "Margin at the top and bottom", least: 0, most: 150, unit: "mm", required: true },
    { sort: "decimal", name: "label_margin_side_millimetres", label: "Margin at the sides", least: 0, most: 150, unit: "mm", required: true },
    { sort: "decimal", name: "label_gap_across_millimetres", label: "Gap between columns", least: 0, most: 150, unit: "mm", required: true },
    { sort: "decimal", name: "label_gap_down_millimetres", label: "Gap between rows", least: 0, most: 150, unit: "mm", required: true },
  ],
  check: (draft): Errors => {
    const error = zoneError(String(draft.time_zone ?? ""));
    const off = draft.dates_off as (string | undefined)[];
    const [first, second, third] = [Number(draft.colour_not_visible), Number(draft.colour_close), Number(draft.colour_visible)];
    return {
      ...(first < second ? {} : { colour_close: "More than what is not visible" }),
      ...(second < third ? {} : { colour_visible: "More than what is close" }),
      ...(error ? { time_zone: error } : {}),
      ...((draft.weekdays_off as string[]).length === 7 ? { weekdays_off: "It must pour on one day at least" } : {}),
      ...(off.some((day) => !day || dayError(day)) ? { dates_off: "Each needs a date between 1950 and 2150; take the empty one out" } : {}),
    };
  },
};
