// Time zones by their names in the time zone database.

export const ownZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone;

export function timeZones(): string[] {
  const known = Intl.supportedValuesOf("timeZone");
  return known.includes("UTC") ? known : [...known, "UTC"];
}

export function zoneError(zone: string): string | null {
  try {
    new Intl.DateTimeFormat("en-GB", { timeZone: zone.trim() });
    // An offset such as +01:00 is understood here and is no name of a zone.
    return /^[A-Za-z]/.test(zone.trim()) ? null : "A name such as Europe/London";
  } catch {
    return "No time zone of this name is known. Try a city, such as Europe/London";
  }
}
