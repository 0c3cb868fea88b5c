// Contrast by the formula of WCAG 2.2 ("relative luminance", "contrast ratio"): text 7:1 (success criterion 1.4.6),
// outlines of controls 3:1 (1.4.11), in both themes.

import { readFileSync } from "node:fs";
import { expect, test } from "vitest";

const css = readFileSync(new URL("../src/theme.css", import.meta.url), "utf8");
const colours = (block: string): Record<string, string> => Object.fromEntries([...block.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6})/g)].map(([, name, value]) => [name, value]));
const blockAfter = (start: string): string => css.slice(css.indexOf(start), css.indexOf("}", css.indexOf(start)));
const THEMES = { dark: colours(blockAfter(":root {")), light: colours(blockAfter(':root[data-theme="light"] {')) };

function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const value = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}
function contrast(one: string, other: string): number {
  const [light, dark] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}

test("black on white is 21:1 (WCAG 2.2)", () => expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 10));

test("the light theme by the system is the one by the switch", () => {
  expect(colours(blockAfter(':root:not([data-theme="dark"]) {'))).toEqual(THEMES.light);
});

test.each(Object.entries(THEMES))("%s", (_name, theme) => {
  for (const ground of ["ground", "raised", "sunk"]) {
    for (const text of ["ink", "ink-soft", "accent", "warn", "bad", "good"]) {
      expect(contrast(theme[text]!, theme[ground]!), `${text} on ${ground}`).toBeGreaterThanOrEqual(text === "ink" ? 10 : 7);
    }
    expect(contrast(theme.edge!, theme[ground]!), `edge on ${ground}`).toBeGreaterThanOrEqual(3);
  }
  expect(contrast(theme["accent-ink"]!, theme.accent!), "words on the main button").toBeGreaterThanOrEqual(7);
});
