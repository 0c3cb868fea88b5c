// From a file chosen on the phone to a photo that can be kept: read, checked, stripped of place and device, hashed,
// with a small picture. All of it happens before anything is written, never inside a transaction.

import { stripMetadata } from "../domain/stripMetadata";
import type { NewPhoto } from "./outbox";

/** As the server has it: more than this is refused. */
export const MAX_PHOTO_BYTES = 40_000_000;

const ownHash = () => import("@noble/hashes/sha2.js");
// Fetched with the sheet, so that a photo taken after the network went does not wait for it.
if (!globalThis.crypto.subtle) void ownHash().catch(() => undefined);

export async function sha256(bytes: ArrayBuffer): Promise<string> {
  // Without a secure context (a plain address in the trailer's network) the browser does not lend its own.
  const digest = globalThis.crypto.subtle
    ? new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))
    : (await ownHash()).sha256(new Uint8Array(bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

export const isHeic = (mediaType: string): boolean => mediaType === "image/heic" || mediaType === "image/heif";

/** The kinds of pictures a file picker may offer. */
export const PHOTO_TYPES = "image/jpeg,image/png,image/webp,image/heic,image/heif,.heic,.heif";

export async function readPhoto(file: Blob): Promise<NewPhoto> {
  if (file.size > MAX_PHOTO_BYTES) throw new Error("This photo is larger than 40 MB.");
  const { bytes, mediaType } = stripMetadata(new Uint8Array(await file.arrayBuffer()));
  const thumb = await smallPicture(new Blob([bytes], { type: mediaType }));
  // Not every browser shows HEIC, and the server does: such a photo is kept without a small picture.
  if (!thumb && !isHeic(mediaType)) throw new Error("This photo cannot be read as a picture.");
  return { sha256: await sha256(bytes.buffer), media_type: mediaType, bytes: bytes.buffer, ...(thumb ? { thumb } : {}) };
}

const SMALL = 480;

async function smallPicture(picture: Blob): Promise<NewPhoto["thumb"] | null> {
  try {
    const bitmap = await createImageBitmap(picture);
    const scale = Math.min(1, SMALL / Math.max(bitmap.width, bitmap.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(bitmap.width * scale));
    canvas.height = Math.max(1, Math.round(bitmap.height * scale));
    canvas.getContext("2d")!.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
    bitmap.close();
    const small = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.8));
    return small && { bytes: await small.arrayBuffer(), media_type: "image/jpeg" };
  } catch {
    return null;
  }
}
