import "./theme.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { engine } from "./sync/engine.svelte";
import { session } from "./sync/session.svelte";
import { showTheme } from "./theme";
import { update } from "./update.svelte";

showTheme();
matchMedia("(prefers-color-scheme: light)").addEventListener("change", showTheme);
mount(App, { target: document.getElementById("app")! });
// The phone's memory first: with no network the app is open before anything is asked of a server.
await session.open();
engine.start();
update.register().catch(() => undefined);
