// A cast run while it is at the bench: every tap is kept at once, with no network as well. `problem` holds words for the screen.

import { newId } from "../../../domain/id";
import { now } from "../../../domain/moment";
import { type Ratio, ratioWarnings } from "../../../domain/ratio";
import { recordsOf } from "../../../store/live.svelte";
import { type Patch, save, whyNotKept } from "../../../store/save";
import { session } from "../../../sync/session.svelte";
import type { CastRunDocument, Id, MaterialUse, Pour, ProductionDocument, Rec } from "../../../types";
import { openTimers, type RunningTimer, runsOfOrder } from "../runs.svelte";
import { allowSound } from "../sound";
import { fetchTicket, keptTicket, type Ticket } from "../ticket.svelte";

export type Part = "a_grams" | "b_grams" | "deadener_grams";

export class BenchModel {
  problem = $state<string | null>(null);
  ticket = $state.raw<Ticket | null>(null);

  constructor(readonly id: Id) {}

  /** What the phone kept first, then what the server says now. Call from an effect. */
  async readTicket(order: Id): Promise<void> {
    const kept = await keptTicket(order);
    if (kept) this.ticket = kept.ticket;
    const fresh = await fetchTicket(order);
    if ("ticket" in fresh) this.ticket = fresh.ticket;
  }

  get record(): Rec<"cast_run"> | undefined { return recordsOf("cast_run").get(this.id); }
  get run(): CastRunDocument | undefined { return this.record?.document; }
  get appliance() { return recordsOf("appliance").get(this.run?.appliance)?.document; }
  get production(): ProductionDocument | undefined { return recordsOf("production").get(session.chosen)?.document; }
  get timers(): RunningTimer[] { return openTimers().filter(({ run }) => run === this.id); }
  get readOnly(): boolean { return !session.can("cast_run") || !!this.record?.withdrawn; }
  /** Which run of its order this is, from 1. */
  get number(): number | undefined {
    const order = this.run?.order;
    return order ? runsOfOrder(order).findIndex(({ id }) => id === this.id) + 1 || undefined : undefined;
  }

  get ratio(): Ratio {
    const { parts_a: a = 1, parts_b: b = 1, deadener_parts: deadener = 0 } = this.appliance ?? {};
    return { a, b, deadener };
  }
  get step(): number { return this.production?.scale_resolution_grams ?? 0.1; }
  warningsOf(pour: Pick<Pour, Part>): string[] {
    const { a_grams: a, b_grams: b, deadener_grams: deadener } = pour;
    return ratioWarnings({ ...(a === undefined ? {} : { a }), ...(b === undefined ? {} : { b }), ...(deadener === undefined ? {} : { deadener }) }, this.ratio, this.production?.ratio_tolerance_percent ?? 2, this.step);
  }

  async change(patch: Patch<CastRunDocument>): Promise<boolean> {
    this.problem = await whyNotKept(() => save("cast_run", this.id, patch));
    return this.problem === null;
  }

  timerOf(what: string): [Id, NonNullable<CastRunDocument["timers"]>[Id]] | undefined {
    return Object.entries(this.run?.timers ?? {}).filter(([, timer]) => timer.what === what).sort(([, one], [, other]) => other.started_at.localeCompare(one.started_at))[0];
  }
  startTimer(what: string, minutes: number): Promise<boolean> {
    allowSound();
    return this.change({ timers: { [newId()]: { what, minutes, started_at: now() } } });
  }

  /** Lots of these uses, use by use as they are named; those in this run first, then those opened, then by name. */
  lotsFor(uses: readonly MaterialUse[]): Rec<"material">[] {
    const used = this.lotsUsed;
    return recordsOf("material").list
      .filter(({ document }) => uses.includes(document.use))
      .sort((one, other) => uses.indexOf(one.document.use) - uses.indexOf(other.document.use) || Number(used.has(other.id)) - Number(used.has(one.id)) || Number(!!other.document.opened_on) - Number(!!one.document.opened_on) || one.document.name.localeCompare(other.document.name));
  }
  /** The material, and the key it stands under. */
  get lotsUsed(): Map<Id, Id> {
    return new Map(Object.entries(this.run?.lots ?? {}).map(([key, { material }]) => [material, key]));
  }
  flipLot(material: Id): Promise<boolean> {
    const key = this.lotsUsed.get(material);
    return this.change({ lots: key ? { [key]: null } : { [newId()]: { material } } });
  }
  /** A figure of a lot that is in this run, else of the gel the appliance names: the shortest of them, which is the careful one for a pot life. */
  figure(name: "coat_dry_minutes" | "cure_minutes" | "pot_life_celsius" | "pot_life_minutes", pick: "least" | "most"): number | undefined {
    const gel = this.appliance?.gel;
    const lots = [...this.lotsUsed.keys(), ...(gel ? [gel] : [])];
    const found = lots.flatMap((id) => recordsOf("material").get(id)?.document[name] ?? []);
    return found.length ? Math[pick === "least" ? "min" : "max"](...found) : undefined;
  }
}
