import { dayWords } from "../../domain/moment";
import type { Day } from "../../types";

/** When something is due, seen from today: "today", "tomorrow", "3 days late", "Thu 26 Nov". */
export function dueWords(due: Day, today: Day): { words: string; late: boolean } {
  const days = Math.round((Date.parse(due) - Date.parse(today)) / 86_400_000);
  if (days === 0) return { words: "today", late: false };
  if (days === 1) return { words: "tomorrow", late: false };
  if (days < 0) return { words: days === -1 ? "1 day late" : `${-days} days late`, late: true };
  return { words: dayWords(due), late: false };
}
