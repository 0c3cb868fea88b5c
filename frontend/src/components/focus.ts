// For what a tap has replaced: without it a screen reader, and the next Tab, are left at the top of the page.

import { tick } from "svelte";

/** Moves the focus to an element (with a tabindex) once the page has changed. `still`: nothing scrolls. */
export async function focusOn(element: () => HTMLElement | undefined, still = false): Promise<void> {
  await tick();
  element()?.focus({ preventScroll: still });
}
