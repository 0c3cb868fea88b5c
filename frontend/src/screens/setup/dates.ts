import { dayWords } from "../../domain/moment";
import type { Day } from "../../types";

/** A date that may be years away: "22 Oct 2027". */
export const dateWords = (day: Day): string => dayWords(day, { day: "numeric", month: "short", year: "numeric" });
