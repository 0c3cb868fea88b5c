import { expect, test } from "vitest";
import { hintsOf, lightnessOf } from "../src/domain/spotHints";

type Colour = readonly [number, number, number];
const square = (edge: number, colour: (x: number, y: number) => Colour | null): { data: number[]; edge: number } => ({
  edge,
  data: Array.from({ length: edge * edge }, (_, at) => {
    const one = colour(at % edge, Math.trunc(at / edge));
    return one ? [...one, 255] : [0, 0, 0, 0];
  }).flat(),
});
const GREY: Colour = [118, 118, 118];

// All pictures are constructed here.
test("an even spot of some size leaves nothing to say", () => {
  expect(hintsOf(square(41, () => GREY), 20, "card")).toEqual([]);
});

test("one channel that is full or empty is clipped", () => {
  expect(hintsOf(square(41, (x) => (x < 6 ? [255, 140, 120] : GREY)), 20, "patch")).toEqual(["clipped"]);
  expect(hintsOf(square(41, () => [60, 20, 1]), 20, "patch")).toEqual(["clipped"]);
});

test("what is clipped outside the circle does not count", () => {
  expect(hintsOf(square(41, (x, y) => (Math.hypot(x - 20, y - 20) > 19 ? [255, 255, 255] : GREY)), 18, "card")).toEqual([]);
});

test("a card needs more pixels than a patch", () => {
  expect(hintsOf(square(19, () => GREY), 9, "patch")).toEqual([]);
  expect(hintsOf(square(19, () => GREY), 9, "card")).toEqual(["small"]);
});

test("a card with a shadow over one side is unevenly lit", () => {
  expect(hintsOf(square(41, (x) => (x < 20 ? [104, 104, 104] : GREY)), 20, "card")).toEqual(["uneven"]);
});

test("what lies outside the picture is left out", () => {
  expect(hintsOf(square(41, (x) => (x < 20 ? null : GREY)), 20, "card")).toEqual([]);
});

test("lightness of 18 % grey", () => {
  // The formula of CIE 1976 L*, worked out by colour-science: 49.496108.
  expect(lightnessOf(0.18)).toBeCloseTo(49.496108, 5);
});
