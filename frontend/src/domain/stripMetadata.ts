// Takes place, time and device out of a photo before it leaves the phone, without touching a pixel. What stays:
// the colour profile, and which way up the picture is and that it is in Adobe RGB (as an EXIF block that holds nothing
// else: a camera set to Adobe RGB puts no profile in).
//
//   const clean = stripMetadata(bytes);      throws NotAPhoto when it is no JPEG, PNG, WebP, HEIC or HEIF

import { heicTypeOf, stripHeic } from "./stripHeic";
import type { MediaType } from "../types";

export class NotAPhoto extends Error {
  constructor() {
    super("This file is not a JPEG, PNG, WebP or HEIC picture.");
  }
}

export function mediaTypeOf(bytes: Uint8Array): MediaType | null {
  if (bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff) return "image/jpeg";
  if (textAt(bytes, 1, 3) === "PNG" && bytes[0] === 0x89) return "image/png";
  if (textAt(bytes, 0, 4) === "RIFF" && textAt(bytes, 8, 4) === "WEBP") return "image/webp";
  return heicTypeOf(bytes);
}

export function stripMetadata(bytes: Uint8Array): { bytes: Uint8Array<ArrayBuffer>; mediaType: MediaType } {
  const mediaType = mediaTypeOf(bytes);
  if (mediaType === "image/jpeg") return { bytes: stripJpeg(bytes), mediaType };
  if (mediaType === "image/png") return { bytes: stripPng(bytes), mediaType };
  if (mediaType === "image/webp") return { bytes: stripWebp(bytes), mediaType };
  if (mediaType) {
    try {
      return { bytes: stripHeic(bytes), mediaType };
    } catch (error) {
      if (error instanceof RangeError) throw new NotAPhoto();
      throw error;
    }
  }
  throw new NotAPhoto();
}

function textAt(bytes: Uint8Array, at: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + length));
}

function view(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function join(parts: Uint8Array[]): Uint8Array<ArrayBuffer> {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/** The value of a tag (its two or four bytes) in the directory that the tags of `path` lead to from the first one. */
function tiffValue(tiff: Uint8Array, bits: 16 | 32, tag: number, path: number[] = []): number | null {
  if (tiff.length < 14) return null;
  const data = view(tiff);
  const order = data.getUint16(0);
  if (order !== 0x4949 && order !== 0x4d4d) return null;
  const little = order === 0x4949;
  let start = data.getUint32(4, little);
  for (const wanted of [...path, tag]) {
    if (start + 2 > tiff.length) return null;
    const end = Math.min(tiff.length - 11, start + 2 + 12 * data.getUint16(start, little));
    let entry = start + 2;
    while (entry < end && data.getUint16(entry, little) !== wanted) entry += 12;
    if (entry >= end) return null;
    if (wanted === tag) return bits === 16 ? data.getUint16(entry + 8, little) : data.getUint32(entry + 8);
    start = data.getUint32(entry + 8, little);
  }
  return null;
}

/** Orientation (TIFF tag 0x0112, 1 to 8) in the first directory of a TIFF block; 1 when there is none. */
export function tiffOrientation(tiff: Uint8Array): number {
  const value = tiffValue(tiff, 16, 0x0112);
  return value !== null && value >= 1 && value <= 8 ? value : 1;
}

const R03 = 0x52303300;

/** Whether it says Adobe RGB: ColorSpace is 0xFFFF and the InteroperabilityIndex "R03" (Exif 2.3, DCF 2.0). */
function tiffIsAdobeRgb(tiff: Uint8Array): boolean {
  return tiffValue(tiff, 16, 0xa001, [0x8769]) === 0xffff && tiffValue(tiff, 32, 1, [0x8769, 0xa005]) === R03;
}

/** A TIFF block of directories, each of tags, types, counts and values. */
function tiffOf(...directories: [number, number, number, number][][]): Uint8Array {
  const tiff = new Uint8Array(directories.reduce((sum, entries) => sum + 6 + 12 * entries.length, 8));
  const data = view(tiff);
  data.setUint32(0, 0x4d4d002a);
  data.setUint32(4, 8);
  let at = 8;
  for (const entries of directories) {
    data.setUint16(at, entries.length);
    entries.forEach(([tag, type, count, value], index) => {
      const entry = at + 2 + 12 * index;
      data.setUint16(entry, tag);
      data.setUint16(entry + 2, type);
      data.setUint32(entry + 4, count);
      data.setUint32(entry + 8, value);
    });
    at += 6 + 12 * entries.length;
  }
  return tiff;
}

/** A TIFF block with the orientation and nothing else. A value of two bytes stands at the left of four. */
const orientationOnly = (orientation: number): Uint8Array => tiffOf([[0x0112, 3, 1, orientation * 0x10000]]);

const adobeRgbOnly = (orientation: number): Uint8Array =>
  tiffOf([[0x0112, 3, 1, orientation * 0x10000], [0x8769, 4, 1, 38]], [[0xa001, 3, 1, 0xffff0000], [0xa005, 4, 1, 68]], [[1, 2, 4, R03]]);

const EXIF = new Uint8Array([0x45, 0x78, 0x69, 0x66, 0, 0]);

function stripJpeg(bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const kept: Uint8Array[] = [];
  let orientation = 1;
  let isAdobeRgb = false;
  let at = 2;
  while (at < bytes.length) {
    if (bytes[at] !== 0xff) throw new NotAPhoto();
    let marker = bytes[at + 1];
    while (marker === 0xff) marker = bytes[++at + 1];
    if (marker === undefined) throw new NotAPhoto();
    if (marker === 0xd9) {
      kept.push(bytes.subarray(at, at + 2));
      break; // What follows the end of the picture (a film, a second picture) has data of its own, and goes.
    }
    const end = at + 2 + ((bytes[at + 2] ?? 0) << 8) + (bytes[at + 3] ?? 0);
    if (end > bytes.length || end < at + 4) throw new NotAPhoto();
    const isExif = marker === 0xe1 && textAt(bytes, at + 4, 4) === "Exif";
    if (isExif) {
      orientation = tiffOrientation(bytes.subarray(at + 10, end));
      isAdobeRgb = tiffIsAdobeRgb(bytes.subarray(at + 10, end));
    }
    const isApp = marker >= 0xe0 && marker <= 0xef;
    const isWanted =
      marker === 0xe0 ? textAt(bytes, at + 4, 4) === "JFIF" :
      marker === 0xe2 ? textAt(bytes, at + 4, 11) === "ICC_PROFILE" :
      marker === 0xee ? textAt(bytes, at + 4, 5) === "Adobe" :
      !isApp && marker !== 0xfe;
    if (isWanted) kept.push(bytes.subarray(at, end));
    at = end;
    if (marker === 0xda) {
      // The coded picture: up to the next marker that is neither a stuffed byte nor a restart.
      const start = at;
      while (at < bytes.length && !(bytes[at] === 0xff && bytes[at + 1] !== 0 && !((bytes[at + 1] ?? 0) >= 0xd0 && (bytes[at + 1] ?? 0) <= 0xd7))) at++;
      kept.push(bytes.subarray(start, at));
    }
  }
  const head: Uint8Array[] = [new Uint8Array([0xff, 0xd8])];
  if (orientation !== 1 || isAdobeRgb) {
    const tiff = isAdobeRgb ? adobeRgbOnly(orientation) : orientationOnly(orientation);
    const length = 2 + EXIF.length + tiff.length;
    head.push(new Uint8Array([0xff, 0xe1, length >> 8, length & 0xff]), EXIF, tiff);
  }
  return join([...head, ...kept]);
}

const PNG_KEPT: ReadonlySet<string> = new Set([
  "IHDR", "PLTE", "IDAT", "IEND", "tRNS", "cHRM", "gAMA", "iCCP", "sBIT", "sRGB", "cICP", "mDCV", "cLLI", "bKGD", "pHYs", "acTL", "fcTL", "fdAT",
]);

function stripPng(bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const kept = [bytes.subarray(0, 8)];
  const data = view(bytes);
  let at = 8;
  while (at + 12 <= bytes.length) {
    const end = at + 12 + data.getUint32(at);
    const name = textAt(bytes, at + 4, 4);
    if (end > bytes.length) throw new NotAPhoto();
    if (PNG_KEPT.has(name)) kept.push(bytes.subarray(at, end));
    if (name === "eXIf") {
      const orientation = tiffOrientation(bytes.subarray(at + 8, end - 4));
      if (orientation !== 1) kept.push(pngChunk("eXIf", orientationOnly(orientation)));
    }
    at = end;
    if (name === "IEND") return join(kept);
  }
  throw new NotAPhoto();
}

function pngChunk(name: string, content: Uint8Array): Uint8Array {
  const chunk = new Uint8Array(12 + content.length);
  const data = view(chunk);
  data.setUint32(0, content.length);
  for (let index = 0; index < 4; index++) chunk[4 + index] = name.charCodeAt(index);
  chunk.set(content, 8);
  let crc = 0xffffffff;
  for (const byte of chunk.subarray(4, 8 + content.length)) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  data.setUint32(8 + content.length, ~crc >>> 0);
  return chunk;
}

const WEBP_KEPT: ReadonlySet<string> = new Set(["VP8 ", "VP8L", "VP8X", "ALPH", "ANIM", "ANMF", "ICCP"]);

function stripWebp(bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const chunks: Uint8Array[] = [];
  const data = view(bytes);
  let orientation = 1;
  let at = 12;
  const end = Math.min(bytes.length, 8 + data.getUint32(4, true));
  while (at + 8 <= end) {
    const size = data.getUint32(at + 4, true);
    const next = at + 8 + size + (size & 1);
    if (at + 8 + size > bytes.length) throw new NotAPhoto();
    const name = textAt(bytes, at, 4);
    if (name === "EXIF") {
      const content = bytes.subarray(at + 8, at + 8 + size);
      orientation = tiffOrientation(textAt(content, 0, 4) === "Exif" ? content.subarray(6) : content);
    } else if (WEBP_KEPT.has(name)) {
      chunks.push(bytes.slice(at, Math.min(next, bytes.length)));
    }
    at = next;
  }
  if (!chunks.length) throw new NotAPhoto();
  const extended = chunks.find((chunk) => textAt(chunk, 0, 4) === "VP8X");
  // Bits 2 and 3 of VP8X say that XMP and EXIF follow.
  if (extended) extended[8] = (extended[8]! & ~0x0c) | (orientation !== 1 ? 0x08 : 0);
  if (extended && orientation !== 1) {
    const tiff = orientationOnly(orientation);
    chunks.push(new Uint8Array([0x45, 0x58, 0x49, 0x46, tiff.length, 0, 0, 0]), tiff);
  }
  const whole = join([bytes.slice(0, 12), ...chunks]);
  view(whole).setUint32(4, whole.length - 8, true);
  return whole;
}
