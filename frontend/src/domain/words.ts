// The trade's words for every choice, in one place. Use: `words.grade[copy.grade]`, `optionsOf(words.grade)`.

export const words = {
  role: { set_artist: "Set artist", continuity: "Continuity", shop: "Shop", department_head: "Department head" },
  grade: { hero: "Hero", mid: "Mid", background: "Background" },
  encapsulator: {
    alcohol_soluble: "Alcohol-soluble cap plastic", acetone_soluble: "Acetone-soluble cap plastic", pressed_acrylic: "Pressed acrylic transfer",
    foam_latex: "Foam latex", gelatine: "Gelatine",
  },
  edge_solvent: { alcohol: "99 % alcohol", acetone: "Acetone", blending_paste: "Blending paste", warm_water: "Warm water", witch_hazel: "Witch hazel" },
  copy_state: {
    shop: "In the shop", in_transit: "In transit", on_set: "On set", applied: "Applied", used_up: "Used up", damaged: "Damaged", lost: "Lost",
  },
  outcome: { good: "Put on well", spoiled: "Spoiled", lost: "Lost during the day" },
  order_state: { asked_for: "Asked for", taken_on: "Taken on", casting: "Casting", sent: "Sent", arrived: "Arrived", called_off: "Called off" },
  arrived: { arrived: "Arrived", missing: "Missing", damaged: "Damaged" },
  weekday: { monday: "Monday", tuesday: "Tuesday", wednesday: "Wednesday", thursday: "Thursday", friday: "Friday", saturday: "Saturday", sunday: "Sunday" },
  material_use: {
    adhesive: "Adhesive", edge_solvent: "Edge solvent", remover: "Remover", paint: "Paint", sealer: "Sealer", gel_a: "Gel, part A", gel_b: "Gel, part B", deadener: "Deadener",
    cap_plastic: "Cap plastic", release: "Release", pigment: "Intrinsic colour",
  },
  material_unit: { grams: "Grams", millilitres: "Millilitres", pieces: "Pieces" },
  colour_unit: { drops: "Drops", grams: "Grams", pinches: "Pinches" },
  coloured_part: { a: "A", b: "B", deadener: "Deadener", all: "A, B and deadener, each apart" },
  cavity_result: { good: "Good", lower_grade: "Lower grade", rejected: "Rejected" },
  fault: { torn_edge: "Torn edge", bubble: "Bubble", tacky: "Tacky", thick_edge: "Thick edge", colour: "Colour", other: "Something else" },
  label_page: { a4: "A4", letter: "US letter" },
  angle: {
    front: "Front", three_quarter_left: "Three-quarter left", three_quarter_right: "Three-quarter right",
    profile_left: "Profile left", profile_right: "Profile right", close_up: "Close-up",
  },
  photo_moment: { before: "Before", applied: "Applied", on_set: "On set", after: "After", removed: "Removed" },
  photo_fault: { blurred: "Blurred", too_dark: "Too dark", too_bright: "Too bright" },
  verdict: { matches: "Matches", does_not_match: "Does not match" },
  colour: { not_visible: "Not visible", close: "Close", visible: "Visible side by side", wrong: "Wrong" },
  card: { none: "No card", grey: "Grey card", patches_24: "Card of 24 patches" },
  patch_role: { piece: "Piece", edge: "Edge", skin: "Skin beside it", other: "Something else" },
  patch_test: { no_reaction: "No reaction", doubtful: "Doubtful", reaction: "Reaction" },
  interior_exterior: { interior: "Interior", exterior: "Exterior", both: "Interior and exterior" },
  day_night: { day: "Day", night: "Night", dawn: "Dawn", dusk: "Dusk" },
  kind: {
    production: "Production", unit: "Unit", character: "Character", performer: "Performer", look: "Look", scene: "Scene", shoot_day: "Shoot day",
    appliance: "Appliance", mould: "Mould", cast_run: "Cast run", copy: "Copy", material: "Material", recipe: "Paint recipe",
    application: "Application", order: "Order", parcel: "Parcel", count: "Count", verdict: "Verdict", photo_guide: "Photo guide",
    colour_measurement: "Colour measurement", conflict: "Two versions", crew: "Crew",
  },
} as const;

export function optionsOf<T extends string>(table: Readonly<Record<T, string>>): { value: T; words: string }[] {
  return (Object.entries(table) as [T, string][]).map(([value, text]) => ({ value, words: text }));
}
