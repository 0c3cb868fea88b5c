// What the ticket says, as the bench uses it: mixes, coats and minutes; where no ticket was ever seen, what the records on
// this phone say.

import { inTenths, minutesAt } from "../../../domain/roomTemperature";
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

/** What the ticket worked out for the temperature that the shop is said to have, at the one that was measured. */
function asWarmAs(bench: BenchModel, minutes: number): number | undefined {
  const said = bench.production?.shop_celsius ?? 21;
  return minutesAt({ minutes, celsius: said }, bench.run?.temperature_celsius ?? said, bench.figure("pot_life_celsius", "least") ?? said);
}

/** Pot life at the room's temperature, measured or by the ticket, else the maker's own figure, said as such. */
export function potLifeOf(bench: BenchModel): Minutes {
  const ticket = bench.ticket?.pot_life;
  const measured = bench.run?.temperature_celsius;
  if (ticket && (measured === undefined || measured === (bench.production?.shop_celsius ?? 21))) {
    return { minutes: inTenths(ticket.minutes), words: `${ticket.words}${measured === undefined ? " Measure the room: it is another time where it is warmer." : ""}` };
  }
  if (ticket) {
    const found = asWarmAs(bench, ticket.minutes);
    if (found === undefined) return { minutes: undefined, words: `The room has ${measured} °C, more than 10 °C from where the maker measured: nothing is worked out. Try a spoonful first.` };
    return { minutes: inTenths(found), words: `${inTenths(found).toFixed(1)} min at the ${measured} °C of the room: halved for every 10 °C warmer, doubled for every 10 °C colder. A rule of thumb, and deadener and colour change it: try a spoonful.` };
  }
  const maker = bench.figure("pot_life_minutes", "least");
  return { minutes: maker, words: maker ? "By the maker's figure, at the maker's temperature: a warmer room is faster." : "" };
}

/** What is to be said where one mix fills fewer cavities before it sets than are poured from it; nothing where that is not known. */
export function tooManyWords(bench: BenchModel, minutes: number | undefined, cavities: number | undefined): string {
  if (minutes === undefined || !cavities) return "";
  const { stirring_seconds: stirring = 60, seconds_a_cavity: each = 45 } = bench.production ?? {};
  const filled = Math.max(0, Math.floor((minutes * 60 - stirring) / each));
  if (filled >= cavities) return "";
  return filled ? `In ${minutes} min one mix fills ${filled === 1 ? "1 cavity" : `${filled} cavities`}, not ${cavities}: mix less at a time, in the same ratio.` : `In ${minutes} min it sets before one cavity is filled: a colder room, or a slower gel.`;
}

export const cureOf = (bench: BenchModel): number | undefined => {
  const ticket = bench.ticket?.cure_minutes;
  const minutes = ticket ? asWarmAs(bench, ticket) : bench.figure("cure_minutes", "most");
  return minutes ? Math.ceil(minutes) : undefined;
};

/** By the ticket, or by the lots of the run; where none is chosen yet, by the slowest in the shop, as the ticket has it. */
export function coatMinutesOf(bench: BenchModel): number | undefined {
  const known = bench.ticket?.coat_dry_minutes ?? bench.figure("coat_dry_minutes", "most");
  if (known !== undefined) return known;
  const there = bench.lotsFor(["cap_plastic"]).flatMap(({ document }) => document.coat_dry_minutes ?? []);
  return there.length ? Math.max(...there) : undefined;
}

export interface CoatCount { mould: number; back: number }
/** A piece that is not encapsulated has no coats. */
export function coatsOf(bench: BenchModel): CoatCount {
  const piece = bench.appliance;
  const sprayed = piece?.encapsulator === "alcohol_soluble" || piece?.encapsulator === "acetone_soluble";
  return sprayed ? { mould: piece.coats_in_mould ?? 4, back: piece.coats_on_back ?? 4 } : { mould: 0, back: 0 };
}
