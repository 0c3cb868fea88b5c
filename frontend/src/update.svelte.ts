// A new version of the app: offered, never forced. `hold(why)` keeps it back while a sheet has something unsaved or a
// photo is on its way; call what it returns to let go. `update.offered` and `update.heldBy` are for the banner.

import { untrack } from "svelte";

class Update {
  offered = $state(false);
  #holds = $state<{ why: string }[]>([]);
  #waiting: ServiceWorker | null = null;

  get heldBy(): string | null {
    return this.#holds[0]?.why ?? null;
  }

  hold(why: string): () => void {
    // Untracked, so that an effect may hold: it must not run again because somebody else holds too.
    const before = untrack(() => this.#holds);
    this.#holds = [...before, { why }];
    const kept = untrack(() => this.#holds.at(-1));
    return () => {
      this.#holds = this.#holds.filter((other) => other !== kept);
    };
  }

  async register(): Promise<void> {
    if (!("serviceWorker" in navigator) || import.meta.env.DEV) return;
    // Taken in another tab, it has this tab too, and with it goes what this one has not loaded yet of its own version.
    let first = !navigator.serviceWorker.controller;
    navigator.serviceWorker.addEventListener("controllerchange", () => {
      this.offered ||= !first;
      first = false;
    });
    const registration = await navigator.serviceWorker.register("/sw.js");
    const offer = (worker: ServiceWorker | null): void => {
      // Without a controller this is the first version, not a new one.
      if (!worker || !navigator.serviceWorker.controller) return;
      this.#waiting = worker;
      this.offered = true;
    };
    offer(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const worker = registration.installing;
      worker?.addEventListener("statechange", () => {
        if (worker.state === "installed") offer(worker);
      });
    });
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") registration.update().catch(() => undefined);
    });
  }

  take(): void {
    if (this.heldBy) return;
    let reloaded = false;
    const reload = (): void => {
      if (reloaded) return;
      reloaded = true;
      location.reload();
    };
    navigator.serviceWorker.addEventListener("controllerchange", reload);
    const waiting = this.#waiting;
    if (waiting?.state !== "installed") return reload();
    waiting.postMessage({ type: "SKIP_WAITING" });
    // On iOS controllerchange may never fire.
    setTimeout(reload, 4_000);
  }
}

export const update = new Update();
export const hold = (why: string): (() => void) => update.hold(why);
