// Judges a frame at once, on the phone: decoded, reduced, and its middle measured. See domain/sharpness.ts and exposure.ts.

import { exposureFault, exposureOf } from "../../domain/exposure";
import { BLURRED_ABOVE, detailLeft, greyOf, JUDGED_EDGE, middleOf } from "../../domain/sharpness";
import type { Photo } from "../../types";

export type Fault = NonNullable<Photo["kept_despite"]>[number];

export const FAULT_WORDS: Record<Fault, string> = { blurred: "This frame is blurred", too_dark: "This frame is too dark", too_bright: "This frame is too bright" };
export const FAULT_ADVICE: Record<Fault, string> = {
  blurred: "Hold still, with both elbows in, and tap when the piece is sharp.",
  too_dark: "Turn towards the light, or bring one, the same on both sides.",
  too_bright: "Turn away from the lamp, or step back from it.",
};

/** What is wrong with a picture; nothing where it cannot be told. */
export function faultsOf(picture: ImageBitmap): Fault[] {
  const scale = Math.min(1, JUDGED_EDGE / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const context = canvas.getContext("2d", { willReadFrequently: true })!;
  context.imageSmoothingQuality = "high";
  context.drawImage(picture, 0, 0, canvas.width, canvas.height);
  const grey = middleOf(greyOf(context.getImageData(0, 0, canvas.width, canvas.height).data, canvas.width, canvas.height));
  const exposure = exposureFault(exposureOf(grey));
  return [...(detailLeft(grey) > BLURRED_ABOVE ? ["blurred" as const] : []), ...(exposure ? [exposure] : [])];
}

/** The same of a file; nothing of one that the browser cannot decode. */
export async function faultsOfFile(file: Blob): Promise<Fault[]> {
  try {
    const picture = await createImageBitmap(file);
    try {
      return faultsOf(picture);
    } finally {
      picture.close();
    }
  } catch {
    return [];
  }
}
