/** "0 MB", "3.4 MB", "340 MB", "10.7 GB": as shops and phones say it, in powers of 1000. */
export function sizeWords(bytes: number): string {
  const mega = bytes / 1_000_000;
  if (mega >= 999.5) return `${Number((mega / 1000).toFixed(mega >= 99_950 ? 0 : 1))} GB`;
  return `${Number(mega.toFixed(mega >= 9.95 ? 0 : 1))} MB`;
}
