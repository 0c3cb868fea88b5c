// How long a gel can be worked, and cures, in a room as warm as it is: the rule of the cast ticket (continuity/shop/pot_life.py).

/** The rule is trusted so many °C from where the maker measured. */
const FURTHEST = 10;

/** Minutes in tenths, never more than there are. */
export const inTenths = (minutes: number): number => Math.floor(minutes * 10 + 1e-6) / 10;

/** Minutes known at one temperature, at another: halved for every 10 °C warmer, doubled for every 10 °C colder. Undefined where the
 *  room is too far from the temperature the maker measured at. */
export function minutesAt(known: { minutes: number; celsius: number }, celsius: number, makers = known.celsius): number | undefined {
  return Math.abs(celsius - makers) > FURTHEST ? undefined : known.minutes / 2 ** ((celsius - known.celsius) / 10);
}
