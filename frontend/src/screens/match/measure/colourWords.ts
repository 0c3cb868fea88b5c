// A measurement in words.

import { words } from "../../../domain/words";
import type { Colour, ProductionDocument } from "../../../types";

const one = (value: number): string => value.toFixed(1);

/** "2.4 ± 0.6" */
export const difference = (value: number, uncertainty: number): string => `${one(value)} ± ${one(uncertainty)}`;

/** "+1.2", "−0.4" */
export const signed = (value: number): string => `${value < 0 ? "−" : "+"}${one(Math.abs(value))}`;

/** "L* 62.1, a* 14.0, b* 17.3" */
export const labWords = ([lightness, redness, yellowness]: readonly number[]): string => `L* ${one(lightness!)}, a* ${one(redness!).replace("-", "−")}, b* ${one(yellowness!).replace("-", "−")}`;

type Contrast = NonNullable<Colour["contrast"]>;

/** Whether the change of the piece in its skin is sure enough to rest on. */
export const isSure = ({ shift, uncertainty }: Contrast): boolean => uncertainty < Math.max(1, shift);

/** What is said of the piece in its skin, in a sentence. */
export function contrastWords(contrast: Contrast): string {
  const said = { not_visible: "The piece sits in the skin as it did.", close: "The piece sits in the skin nearly as it did.", visible: "Side by side one sees that the piece sits otherwise in the skin.", wrong: "The piece does not sit in the skin as it did." }[contrast.words];
  return isSure(contrast) ? said : `${said} But the measurement is not sure enough to rest on.`;
}

/** "Not visible up to 1, close up to 2, visible side by side up to 4, wrong above." */
export function boundsWords(production: ProductionDocument | undefined): string {
  const { colour_not_visible: first = 1, colour_close: second = 2, colour_visible: third = 4 } = production ?? {};
  return `${words.colour.not_visible} up to ${first}, ${words.colour.close.toLowerCase()} up to ${second}, ${words.colour.visible.toLowerCase()} up to ${third}, ${words.colour.wrong.toLowerCase()} above.`;
}
