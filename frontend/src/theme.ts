// Dark, light, or as the system has it. `theme.choose("dark")`; kept on the phone.

export type ThemeChoice = "system" | "dark" | "light";
const NAME = "theme";

export function themeChoice(): ThemeChoice {
  const kept = localStorage.getItem(NAME);
  return kept === "dark" || kept === "light" ? kept : "system";
}

export function chooseTheme(choice: ThemeChoice): void {
  if (choice === "system") localStorage.removeItem(NAME);
  else localStorage.setItem(NAME, choice);
  showTheme();
}

export function showTheme(): void {
  const choice = themeChoice();
  if (choice === "system") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = choice;
  const ground = getComputedStyle(document.documentElement).getPropertyValue("--ground").trim();
  document.querySelector('meta[name="theme-color"]')?.setAttribute("content", ground);
}

export const isDark = (): boolean => getComputedStyle(document.documentElement).colorScheme === "dark";
