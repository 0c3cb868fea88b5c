// The cover as the screens show it: what is kept on the phone, then what the server answers.

import type { CoverAnswer } from "../../answers";
import { coverFetched, coverKept } from "../../store/coverKept";
import { troubleWords } from "../../sync/api";
import type { Id } from "../../types";

class CoverNow {
  production = $state<Id | null>(null);
  answer = $state.raw<CoverAnswer | null>(null);
  problem = $state<string | null>(null);
  busy = $state(false);
  /** The phone's memory has been read. */
  ready = $state(false);
  askedAt = 0;

  async load(production: Id): Promise<void> {
    if (this.production !== production) {
      this.production = production;
      this.answer = null;
      this.ready = false;
    }
    const kept = await coverKept(production);
    if (this.production !== production) return;
    // An older version of the app kept answers without what an order needs: those are not shown. Since it was last looked
    // at here, a newer one may have been fetched ahead.
    if (kept?.appliances.every((one) => one.rests_on !== undefined) && kept.worked_out_at > (this.answer?.worked_out_at ?? "")) this.answer = kept;
    this.ready = true;
    await this.ask(production);
  }

  async ask(production: Id): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.askedAt = Date.now();
    try {
      const answer = await coverFetched(production);
      if (this.production === production) this.answer = answer;
      this.problem = null;
    } catch (error) {
      this.problem = troubleWords(error);
    } finally {
      this.busy = false;
    }
  }
}

export const coverNow = new CoverNow();
