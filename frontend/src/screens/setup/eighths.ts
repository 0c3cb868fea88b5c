/** Script length in eighths of a page: "1 3/8 pages", "5/8 page". */
export function eighthsWords(eighths: number): string {
  const whole = Math.trunc(eighths / 8);
  const rest = eighths % 8;
  const amount = [whole || rest === 0 ? String(whole) : "", rest ? `${rest}/8` : ""].filter(Boolean).join(" ");
  return `${amount} ${eighths > 8 ? "pages" : "page"}`;
}
