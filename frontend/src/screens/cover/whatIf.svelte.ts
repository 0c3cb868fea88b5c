// What if: changes tried out on the server, which stores nothing of them. They stay while the app is open.

import { api, NoAnswer, ServerError } from "../../sync/api";
import type { Id } from "../../types";
import type { WhatIfAnswer, WhatIfChange } from "../../answers";

/** Which of the changes the server will not have: it names "changes.1.date". */
function refusedWords(error: ServerError | NoAnswer): string {
  const at = error instanceof ServerError ? /^changes\.(\d+)/.exec(error.field ?? "")?.[1] : undefined;
  return at === undefined ? error.message : `Change ${Number(at) + 1} cannot be: ${error.message} Take it out, or try it otherwise.`;
}

class WhatIf {
  production: Id | null = null;
  changes = $state.raw<readonly WhatIfChange[]>([]);
  answer = $state.raw<WhatIfAnswer | null>(null);
  problem = $state<string | null>(null);
  busy = $state(false);
  #asked = 0;
  #words = new WeakMap<WhatIfChange, string>();

  open(production: Id): void {
    if (this.production === production) return;
    this.production = production;
    this.clear();
  }

  /** The server's words for a change, once it has answered for it. */
  wordsOf(change: WhatIfChange): string | undefined {
    return this.answer ? this.#words.get(change) : undefined;
  }

  add(change: WhatIfChange): Promise<void> {
    // One target at a time, and a day is moved once.
    const replaced = (old: WhatIfChange): boolean =>
      (change.change === "target" && old.change === "target") || (change.change === "move_shoot_day" && old.change === "move_shoot_day" && old.shoot_day === change.shoot_day);
    this.changes = [...this.changes.filter((old) => !replaced(old)), change];
    return this.ask();
  }

  takeOut(change: WhatIfChange): Promise<void> {
    this.changes = this.changes.filter((other) => other !== change);
    return this.ask();
  }

  /** The change was saved for real: what is left is to be asked for once the server has it. */
  settle(change: WhatIfChange): void {
    this.changes = this.changes.filter((other) => other !== change);
    this.answer = null;
  }

  clear(): void {
    this.changes = [];
    this.answer = null;
    this.problem = null;
    this.#asked += 1;
    this.busy = false;
  }

  async ask(): Promise<void> {
    // Only the answer to the last question counts.
    const mine = ++this.#asked;
    if (!this.changes.length || !this.production) {
      this.clear();
      return;
    }
    const changes = this.changes;
    this.busy = true;
    this.problem = null;
    try {
      const answer = await api.send<WhatIfAnswer>("POST", `/api/productions/${this.production}/cover/what-if`, { changes }, "what_if");
      if (mine !== this.#asked) return;
      changes.forEach((change, index) => this.#words.set(change, answer.words[index] ?? ""));
      this.answer = answer;
    } catch (error) {
      if (!(error instanceof NoAnswer || error instanceof ServerError)) throw error;
      if (mine !== this.#asked) return;
      // What stands beside today's must be the answer to these changes, not to those before.
      this.answer = null;
      this.problem = error instanceof NoAnswer && error.why === "network" ? "What if is worked out by the server: it needs the network, and there is none now. The changes stay here." : refusedWords(error);
    } finally {
      if (mine === this.#asked) this.busy = false;
    }
  }
}

export const whatIf = new WhatIf();
