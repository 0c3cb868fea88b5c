// A photo as it is shown on the stage: decoded once, off the main thread, into a canvas that is then only moved.

import { db } from "../../../db";
import { type Extent, extentOf } from "../../../domain/photoView";
import { type Picture, pictureFetched, pictureKept, type Size } from "../../../sync/largePhotos";
import { session } from "../../../sync/session.svelte";
import type { Id } from "../../../types";

/** As large as the server's large picture: what a phone took itself may have many times the pixels. */
const LONGEST = 2000;

export class Pictured {
  canvas = $state.raw<HTMLCanvasElement | null>(null);
  size = $state<Size | null>(null);
  extent = $state.raw<Extent | null>(null);
  /** Longer edge of the canvas in pixels. */
  longer = 1;
  missing = $state(false);
  blob: Blob | null = null;
  /** What lies on this phone. */
  readonly kept: Promise<Picture | null>;
  #gone = false;

  constructor(readonly sha256: string) {
    const production = session.chosen;
    this.kept = production ? pictureKept(db, production, sha256) : Promise.resolve(null);
    if (production) void this.#open(production);
  }

  async #open(production: Id): Promise<void> {
    const kept = await this.kept;
    if (kept) await this.#show(kept);
    // The server may still be making the large one, and the network may come back while one looks.
    for (let wait = 2000; this.size !== "large" && !this.#gone; wait = Math.min(2 * wait, 30_000)) {
      const fetched = await pictureFetched(db, production, this.sha256);
      if (fetched) await this.#show(fetched);
      this.missing = !this.canvas;
      if (fetched) return;
      await new Promise((resolve) => setTimeout(resolve, wait));
    }
  }

  close(): void {
    this.#gone = true;
    // Lets the pixels go at once: a phone gives canvases little room.
    if (this.canvas) this.canvas.width = this.canvas.height = 0;
  }

  async #show({ blob, size }: Picture): Promise<void> {
    let bitmap: ImageBitmap;
    try {
      bitmap = await createImageBitmap(blob);
      const longer = Math.max(bitmap.width, bitmap.height);
      if (longer > LONGEST) {
        const smaller = await createImageBitmap(bitmap, { resizeWidth: Math.round((bitmap.width * LONGEST) / longer), resizeHeight: Math.round((bitmap.height * LONGEST) / longer), resizeQuality: "high" });
        bitmap.close();
        bitmap = smaller;
      }
    } catch {
      return;
    }
    if (this.#gone) return bitmap.close();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [bitmap.width, bitmap.height];
    this.longer = Math.max(bitmap.width, bitmap.height);
    this.extent = extentOf(bitmap.width, bitmap.height);
    canvas.getContext("bitmaprenderer")!.transferFromImageBitmap(bitmap);
    this.blob = blob;
    this.size = size;
    this.canvas = canvas;
  }
}

let begun: Pictured[] = [];

/** Begins to read and decode photos while the screen that shows them is made; resolves once they are read. None lets go of what was not taken. */
export async function beginPictures(sha256s: readonly string[]): Promise<void> {
  for (const left of begun) left.close();
  begun = sha256s.map((sha256) => new Pictured(sha256));
  await Promise.all(begun.map((picture) => picture.kept));
}

/** A photo, of which the decoding may have been begun; whoever takes it closes it. */
export function picturedOf(sha256: string): Pictured {
  const found = begun.find((picture) => picture.sha256 === sha256) ?? new Pictured(sha256);
  begun = begun.filter((picture) => picture !== found);
  return found;
}
