// Keeps the screen on while something is done with both hands. Returns what lets it go again. The browser lets go of it
// whenever the page is hidden, so it is asked for again when the page is looked at.

export function keepAwake(): () => void {
  if (!("wakeLock" in navigator)) return () => undefined;
  let held: WakeLockSentinel | null = null;
  let over = false;
  const ask = async (): Promise<void> => {
    if (over || document.visibilityState !== "visible" || (held && !held.released)) return;
    try {
      const lock = await navigator.wakeLock.request("screen");
      if (over) await lock.release();
      else held = lock;
    } catch {
      // Battery saver, or the page was hidden meanwhile: the screen goes dark as it does by itself.
    }
  };
  const look = (): void => void ask();
  document.addEventListener("visibilitychange", look);
  void ask();
  return () => {
    over = true;
    document.removeEventListener("visibilitychange", look);
    void held?.release();
  };
}
