// Real photographs to learn from, as scikit-image carries them: public domain or CC0, as the docstrings of its
// skimage.data say of each. Read from the Python environment the project makes; nothing is fetched.

import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { inflateSync } from "node:zlib";
import { type Grey, middleOf } from "../../src/domain/sharpness";

export const PHOTOGRAPHS = ["astronaut", "camera", "chelsea", "coffee", "coins", "grass", "gravel", "motorcycle_left"] as const;

function folder(): string {
  const libraries = join(import.meta.dirname, "../../../.venv/lib");
  const found = (existsSync(libraries) ? readdirSync(libraries) : [])
    .map((python) => join(libraries, python, "site-packages/skimage/data")).find((one) => existsSync(one));
  if (!found) throw new Error("The photographs come with scikit-image in .venv, which python3 manage.py up or verify makes.");
  return found;
}

/** The middle of one of them, in grey. */
export function photograph(name: string): Grey {
  return middleOf(readPng(readFileSync(join(folder(), `${name}.png`))));
}

/** An 8-bit PNG that is not interlaced, in grey (ITU-R BT.601). The format: W3C, PNG Specification, 2003. */
export function readPng(file: Uint8Array): Grey {
  const data = new DataView(file.buffer, file.byteOffset, file.byteLength);
  const width = data.getUint32(16);
  const height = data.getUint32(20);
  const channels = ({ 0: 1, 2: 3, 4: 2, 6: 4 } as Record<number, number>)[file[25]!];
  if (file[24] !== 8 || !channels || file[28] !== 0) throw new Error("Not a PNG of the kind that is read here");
  const pieces: Uint8Array[] = [];
  for (let at = 8; at < file.length; at += 12 + data.getUint32(at)) {
    if (String.fromCharCode(...file.subarray(at + 4, at + 8)) === "IDAT") pieces.push(file.subarray(at + 8, at + 8 + data.getUint32(at)));
  }
  const raw = inflateSync(Buffer.concat(pieces));
  const stride = width * channels;
  const bytes = new Uint8Array(height * stride);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (stride + 1)]!;
    for (let x = 0; x < stride; x++) {
      const left = x >= channels ? bytes[y * stride + x - channels]! : 0;
      const above = y ? bytes[(y - 1) * stride + x]! : 0;
      const corner = x >= channels && y ? bytes[(y - 1) * stride + x - channels]! : 0;
      bytes[y * stride + x] = raw[y * (stride + 1) + 1 + x]! + [0, left, above, (left + above) >> 1, paeth(left, above, corner)][filter]!;
    }
  }
  const values = new Float32Array(width * height);
  for (let pixel = 0; pixel < values.length; pixel++) {
    const at = pixel * channels;
    values[pixel] = channels < 3 ? bytes[at]! : 0.299 * bytes[at]! + 0.587 * bytes[at + 1]! + 0.114 * bytes[at + 2]!;
  }
  return { width, height, values };
}

function paeth(left: number, above: number, corner: number): number {
  const [toLeft, toAbove, toCorner] = [left, above, corner].map((one) => Math.abs(left + above - corner - one)) as [number, number, number];
  return toLeft <= toAbove && toLeft <= toCorner ? left : toAbove <= toCorner ? above : corner;
}

// What can go wrong with a picture, in known steps

/** Every pixel is the mean of those along a line through it by these weights; beyond the rim the nearest pixel counts. */
function along(grey: Grey, [dx, dy]: readonly [number, number], weights: readonly number[]): Grey {
  const { width, height, values } = grey;
  const result = new Float32Array(values.length);
  const middle = weights.length >> 1;
  for (let y = 0, at = 0; y < height; y++) {
    for (let x = 0; x < width; x++, at++) {
      let sum = 0;
      for (let index = 0; index < weights.length; index++) {
        const column = Math.min(width - 1, Math.max(0, x + dx * (index - middle)));
        const row = Math.min(height - 1, Math.max(0, y + dy * (index - middle)));
        sum += weights[index]! * values[row * width + column]!;
      }
      result[at] = sum;
    }
  }
  return { width, height, values: result };
}

/** Out of focus: a Gaussian of this standard deviation in pixels. */
export function blurred(grey: Grey, sigma: number): Grey {
  if (!sigma) return grey;
  const reach = Math.ceil(3 * sigma);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, index) => Math.exp(-((index - reach) ** 2) / (2 * sigma * sigma)));
  const sum = weights.reduce((one, other) => one + other);
  const shares = weights.map((weight) => weight / sum);
  return along(along(grey, [1, 0], shares), [0, 1], shares);
}

/** A hand that moved by so many pixels, across or down. */
export const moved = (grey: Grey, pixels: number, step: readonly [number, number]): Grey => along(grey, step, Array<number>(pixels).fill(1 / pixels));

/** The noise of a dim room: of this standard deviation in levels, the same for the same seed. */
export function noisy(grey: Grey, levels: number, seed = 1): Grey {
  if (!levels) return grey;
  let state = seed;
  const noise = (): number => {
    // Park and Miller's generator (1988; from memory). The sum of twelve is near enough to normal.
    let sum = -6;
    for (let count = 0; count < 12; count++) sum += (state = (state * 48271) % 2147483647) / 2147483647;
    return levels * sum;
  };
  return { ...grey, values: grey.values.map((value) => value + noise()) };
}

/** More or less light, in stops: in linear light (IEC 61966-2-1), clipped as a camera clips. */
export function stops(grey: Grey, count: number): Grey {
  const linear = (level: number): number => (level <= 0.04045 ? level / 12.92 : ((level + 0.055) / 1.055) ** 2.4);
  const coded = (light: number): number => (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);
  return { ...grey, values: grey.values.map((value) => Math.round(255 * coded(Math.min(1, linear(Math.min(1, Math.max(0, value / 255))) * 2 ** count)))) };
}
