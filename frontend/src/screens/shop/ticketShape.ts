// The cast ticket as the server answers it. Grams and millilitres are decimal text, so that the sums on it add up as printed.

export interface GelShape { a: string; b: string; deadener: string; total: string }
export interface CoatsShape { coats: number; cap_plastic: string; thinner: string; total: string }
export interface TicketAnswer {
  answer: "ticket";
  pours: number;
  cycles: number[];
  thinner: string | null;
  gel: { of_one: GelShape; mixes: { cycle: number; number: number; pours: number; gel: GelShape }[]; whole: GelShape } | null;
  colours: { name: string; into: "a" | "b" | "deadener" | "all"; unit: "drops" | "grams" | "pinches"; in_all: string; amount: string; per_grams: string }[];
  encapsulator: { cycles: { cycle: number; pours: number; in_mould: CoatsShape; on_back: CoatsShape }[]; cap_plastic: string; thinner: string; total: string } | null;
  pot_life: { minutes: number; pours_in_one_mix: number; words: string } | null;
  cure_minutes: number | null;
  coat_dry_minutes: number | null;
  vapour: { words: string[] } | null;
  steps: { what: string; words: string; minutes: number | null; times: number }[];
  cautions: string[];
  missing: { line: string; words: string }[];
}
