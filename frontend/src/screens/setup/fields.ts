// What a form is made of: each kind of record has a list of these (kinds/), and RecordForm.svelte draws it.

import type { Component } from "svelte";
import type { Id, Kind, Rec } from "../../types";

export type Draft = Record<string, unknown>;
export interface Option { value: string; words: string; note?: string }

interface Common {
  name: string;
  label: string;
  hint?: string | ((draft: Draft) => string | undefined);
  required?: boolean;
  /** A heading above it: the first field of a new part of a long form. */
  heading?: string;
  /** An empty list says something: it is written, not left out for the default. */
  emptySays?: boolean;
  /** Shown only then. */
  when?: (draft: Draft, id: Id | null) => boolean;
}

export type FieldOf = Common &
  (
    | { sort: "text"; lines?: number; max: number; capitals?: "words" | "characters"; suggest?: () => string[] }
    | { sort: "number"; min: number; max: number; unit?: string }
    | { sort: "decimal"; above?: number; least?: number; below?: number; most?: number; unit?: string; times?: number }
    | { sort: "minutes"; min: number; max: number }
    | { sort: "date" }
    | { sort: "time" }
    | { sort: "choice"; options: (draft: Draft) => readonly Option[] }
    // `of`: the kind they are chosen from. Where there is none yet, the form leads to the first.
    | { sort: "pick"; options: (draft: Draft, id: Id | null) => readonly Option[]; none?: string; of?: Kind }
    | { sort: "many"; options: (draft: Draft) => readonly Option[]; of?: Kind }
    // A part of its own (parts/) is given `value`, through which it writes, and label, hint, error, draft and id.
    | { sort: "part"; part: Component<any, any, any>; empty: () => unknown }
  );

export type Errors = Record<string, string>;

export interface KindForm<K extends Kind = Kind> {
  kind: K;
  /** "Performers" */
  many: string;
  /** "performer" */
  one: string;
  /** What it is for, in a sentence. */
  about: string;
  fields: FieldOf[];
  /** Members that stand for their default when absent, as the server has it. */
  defaults: Draft;
  /** What a new one starts with, beside the defaults. */
  fresh?: (query: URLSearchParams) => Draft;
  /** Below the name in the list. */
  second?: (found: Rec<K>) => string;
  order?: (one: Rec<K>, other: Rec<K>) => number;
  /** The heading it stands under in the list. */
  group?: (found: Rec<K>) => string;
  /** What stands beside the heading of a long list: how many are where. */
  tally?: (list: readonly Rec<K>[]) => string;
  /** What only this kind must hold, by the field it is told at. */
  check?: (draft: Draft, id: Id | null) => Errors;
  /** Fields that follow from another: called with the name of the one that was changed. */
  follow?: (draft: Draft, name: string, fresh: boolean) => void;
  /** What more is done with a record that is there: the result of a cast run, for example. */
  more?: Component<{ id: Id }>;
  /** Once written it never changes; this shows it. */
  fixed?: Component<{ id: Id }>;
}
