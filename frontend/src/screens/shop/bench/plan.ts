// What the ticket says, as the bench uses it: mixes, coats and minutes; where no ticket was ever seen, what the records on
// this phone say.

import type { Ticket } from "../ticket.svelte";
import type { BenchModel } from "./bench.svelte";

export interface MixAim { pours: number; a: string; b: string; deadener: string }

/** The mixes of the `number`-th cycle of the ticket. A run beyond the ticket's cycles is like its first. Without a ticket: none. */
export function mixesFor(ticket: Ticket | null, planned: number, number: number | undefined): MixAim[] {
  const gel = ticket?.gel;
  if (!gel) return [];
  const cycles = new Set(gel.mixes.map(({ cycle }) => cycle));
  const cycle = number && cycles.has(number) ? number : 1;
  const mixes = gel.mixes.filter((mix) => mix.cycle === cycle);
  const poured = mixes.reduce((sum, { pours }) => sum + pours, 0);
  const aims = mixes.map(({ pours, gel: of }) => ({ pours, a: of.a, b: of.b, deadener: of.deadener }));
  // A run of another size than the ticket's cycle has no mix worked out for it.
  return poured === planned ? aims : [];
}

export interface Minutes { minutes: number | undefined; words: string }

/** Pot life at the room's temperature by the ticket, else the maker's own figure, said as such. */
export function potLifeOf(bench: BenchModel): Minutes {
  const ticket = bench.ticket?.pot_life;
  if (ticket) return { minutes: Math.floor(ticket.minutes * 10) / 10, words: ticket.words };
  const maker = bench.figure("pot_life_minutes", "least");
  return { minutes: maker, words: maker ? "By the maker's figure, at the maker's temperature: a warmer room is faster." : "" };
}

export const cureOf = (bench: BenchModel): number | undefined => {
  const minutes = bench.ticket?.cure_minutes ?? bench.figure("cure_minutes", "most");
  return minutes ? Math.ceil(minutes) : undefined;
};

export const coatMinutesOf = (bench: BenchModel): number | undefined => bench.ticket?.coat_dry_minutes ?? bench.figure("coat_dry_minutes", "most");

export interface CoatCount { mould: number; back: number }
/** A piece that is not encapsulated has no coats. */
export function coatsOf(bench: BenchModel): CoatCount {
  const piece = bench.appliance;
  const sprayed = piece?.encapsulator === "alcohol_soluble" || piece?.encapsulator === "acetone_soluble";
  return sprayed ? { mould: piece.coats_in_mould ?? 4, back: piece.coats_on_back ?? 4 } : { mould: 0, back: 0 };
}
