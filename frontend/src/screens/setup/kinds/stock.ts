import { addDays, dayIn, dayWords, minutesWords } from "../../../domain/moment";
import { optionsOf, words } from "../../../domain/words";
import { recordsOf, zone } from "../../../store/live.svelte";
import type { CopyState, Day, Id, Rec } from "../../../types";
import RunSummary from "../../shop/RunSummary.svelte";
import { PLACES, stateOf, TO_BE_USED, useByOf } from "../../shop/stock.svelte";
import type { Draft, Errors, KindForm } from "../fields";
import { LONGEST_SERIAL } from "../serials";
import { dateWords } from "../dates";
import { nameOf, optionsFor } from "../names";
import CopyLog from "../parts/CopyLog.svelte";

export const mould: KindForm<"mould"> = {
  kind: "mould", many: "Moulds", one: "mould",
  about: "What copies are cast in. All cavities fill at once.",
  defaults: { cavities: 1, cycles_per_day: 1, appliances: [] },
  fields: [
    { sort: "text", name: "name", label: "Name", max: 200, required: true },
    { sort: "many", name: "appliances", label: "Casts", required: true, of: "appliance", options: () => optionsFor("appliance") },
    { sort: "number", name: "cavities", label: "Cavities", min: 1, max: 100, required: true },
    { sort: "minutes", name: "cycle_minutes", label: "Cycle", min: 1, max: 20_160, required: true, hint: "From release to demould." },
    { sort: "number", name: "cycles_per_day", label: "Cycles a working day", min: 1, max: 20, required: true, hint: "How often the shop can fill it in a day, cleaning and release included." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  check: (draft): Errors => ((draft.appliances as Id[]).length > 20 ? { appliances: "At most 20" } : {}),
  second: ({ document }) => `${document.cavities ?? 1} ${document.cavities === 1 || !document.cavities ? "cavity" : "cavities"} · ${minutesWords(document.cycle_minutes)} a cycle · ${document.cycles_per_day ?? 1} a day`,
};

const castBy = (mouldId: unknown): Id[] => recordsOf("mould").get(mouldId as Id)?.document.appliances ?? [];

export const cast_run: KindForm<"cast_run"> = {
  kind: "cast_run", many: "Cast runs", one: "cast run",
  about: "One cycle of a mould. Until its result is written its copies count as due.",
  defaults: { rejected: {} },
  // From an order: its mould and its appliance.
  fresh: (query) => {
    const mouldId = query.get("mould") ?? undefined;
    return {
      cast_on: dayIn(zone()), due_on: addDays(dayIn(zone()), 1),
      ...(mouldId ? { mould: mouldId, appliance: query.get("appliance") ?? undefined, copies_planned: recordsOf("mould").get(mouldId)?.document.cavities ?? 1 } : {}),
    };
  },
  fields: [
    { sort: "pick", name: "mould", label: "Mould", required: true, of: "mould", options: (draft) => optionsFor("mould", draft.mould) },
    {
      sort: "pick", name: "appliance", label: "Appliance", required: true, when: (draft) => !!draft.mould,
      options: (draft) => optionsFor("appliance", draft.appliance).filter(({ value }) => castBy(draft.mould).includes(value) || value === draft.appliance),
    },
    { sort: "date", name: "cast_on", label: "Cast on", required: true },
    { sort: "date", name: "due_on", label: "Due on set", required: true, hint: "From this day on its copies are reckoned as there." },
    { sort: "number", name: "copies_planned", label: "Copies planned", min: 1, max: 1000, required: true },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3, hint: "Weights, temperature, what was done differently." },
  ],
  check: (draft): Errors => (draft.cast_on && draft.due_on && String(draft.due_on) < String(draft.cast_on) ? { due_on: "Due before it is cast" } : {}),
  follow: (draft, name, fresh) => {
    if (name === "mould") {
      const casts = castBy(draft.mould);
      if (!casts.includes(draft.appliance as Id)) draft.appliance = casts.length === 1 ? casts[0] : undefined;
      if (fresh) draft.copies_planned = recordsOf("mould").get(draft.mould as Id)?.document.cavities ?? 1;
    }
    if (name === "cast_on" && draft.cast_on && (!draft.due_on || String(draft.due_on) < String(draft.cast_on))) draft.due_on = draft.cast_on;
  },
  order: (one, other) => other.document.cast_on.localeCompare(one.document.cast_on),
  group: ({ document }) => (document.good === undefined ? "Due" : "Done"),
  second: ({ document }) =>
    document.good === undefined ? `${document.copies_planned} planned, due ${dayWords(document.due_on)}` : `${document.good} good of ${document.copies_planned} planned`,
  more: RunSummary,
};

const followCopy = (draft: Draft, name: string): void => {
  if (name === "cast_run") {
    const run = recordsOf("cast_run").get(draft.cast_run as Id)?.document;
    if (run) draft.cast_on = run.cast_on;
  }
  if (name === "cast_on" || name === "cast_run") draft.use_by = useByOf(draft.appliance as Id, draft.cast_on as Day) ?? draft.use_by;
  if (name === "state" && draft.state !== "in_transit" && draft.state !== "shop") draft.expected_on = undefined;
};

/** "On set · Hero · use by Thu 14 Jan" */
function copyWords({ id, document }: Rec<"copy">): string {
  const { state } = stateOf(id);
  const expected = state === "in_transit" || state === "shop" ? document.expected_on : undefined;
  return [
    words.copy_state[state], document.set_aside_for && TO_BE_USED.includes(state) ? `set aside for ${nameOf("scene", document.set_aside_for).toLowerCase()}` : "", expected ? `expected ${dayWords(expected)}` : "", words.grade[document.grade], document.use_by ? `use by ${dateWords(document.use_by)}` : "",
  ].filter(Boolean).join(" · ");
}

export const copy: KindForm<"copy"> = {
  kind: "copy", many: "Copies", one: "copy",
  about: "Each cast by its serial, and where it is.",
  defaults: { state: "shop" },
  fields: [
    { sort: "pick", name: "appliance", label: "Appliance", required: true, options: (draft) => optionsFor("appliance", draft.appliance) },
    { sort: "text", name: "serial", label: "Serial", max: LONGEST_SERIAL, required: true, capitals: "characters" },
    { sort: "choice", name: "grade", label: "Grade", required: true, options: () => optionsOf(words.grade), hint: "A torn copy may still serve as background." },
    {
      sort: "choice", name: "state", label: "Where it is", required: true, options: () => PLACES,
      // What an application made of it stands over what is said here.
      when: (_draft, id) => !id || !stateOf(id).application,
    },
    { sort: "date", name: "expected_on", label: "Expected on set", when: (draft) => draft.state === "in_transit" || draft.state === "shop", hint: "Without a date it counts for nothing in the cover." },
    {
      sort: "pick", name: "set_aside_for", label: "Set aside for", none: "No scene: a spare like any other", hint: "Kept for that scene; no spare for another.",
      options: (draft) => optionsFor("scene", draft.set_aside_for), when: (draft) => TO_BE_USED.includes((draft.state ?? "shop") as CopyState) || !!draft.set_aside_for,
    },
    { sort: "pick", name: "cast_run", label: "Cast run", none: "Not known", options: (draft) => optionsFor("cast_run", draft.cast_run).filter(({ value }) => value === draft.cast_run || recordsOf("cast_run").get(value)?.document.appliance === draft.appliance) },
    { sort: "date", name: "cast_on", label: "Cast on" },
    { sort: "date", name: "use_by", label: "Use by", hint: "Worked out from the shelf life; change it if you know better." },
    { sort: "text", name: "note", label: "Note", max: 5000, lines: 3 },
  ],
  check: (draft, id) => {
    const errors: Record<string, string> = {};
    const twin = recordsOf("copy").list.find((other) => other.id !== id && other.document.serial === String(draft.serial ?? "").trim());
    if (twin) errors.serial = `There is a copy ${twin.document.serial} already`;
    if (draft.cast_on && draft.use_by && String(draft.use_by) < String(draft.cast_on)) errors.use_by = "Before the day it was cast";
    return errors;
  },
  follow: followCopy,
  // Those still to be used come first.
  order: (one, other) =>
    Number(TO_BE_USED.includes(stateOf(other.id).state)) - Number(TO_BE_USED.includes(stateOf(one.id).state)) ||
    one.document.serial.localeCompare(other.document.serial, "en", { numeric: true }),
  group: ({ document }) => nameOf("appliance", document.appliance),
  second: copyWords,
  tally: (list) =>
    TO_BE_USED.map((place) => ({ place, count: list.filter(({ id }) => stateOf(id).state === place).length }))
      .filter(({ count }) => count)
      .map(({ place, count }) => `${count} ${words.copy_state[place].toLowerCase()}`)
      .join(", ") || "none left",
  more: CopyLog,
};
