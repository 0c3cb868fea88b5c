import { readFileSync } from "node:fs";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import { VitePWA } from "vite-plugin-pwa";
import { defineConfig } from "vitest/config";

const { version } = JSON.parse(readFileSync(new URL("./package.json", import.meta.url), "utf8")) as { version: string };

export default defineConfig({
  base: "/",
  define: { __APP_VERSION__: JSON.stringify(version) },
  build: { outDir: "dist", emptyOutDir: true, target: "es2022", modulePreload: { polyfill: false } },
  // The package's own entry is the build for old browsers, wrapped so that it can also be loaded by a script element.
  resolve: { alias: [{ find: /^dexie$/, replacement: "dexie/dist/modern/dexie.mjs" }] },
  // With changeOrigin off the Host header stays the phone's, so that the server's check of Origin passes.
  server: { host: true, proxy: { "/api": { target: process.env.API_SERVER ?? "http://127.0.0.1:8000", changeOrigin: false } } },
  plugins: [
    svelte(),
    VitePWA({
      // A new version is offered (src/update.svelte.ts), never forced: registration is ours.
      registerType: "prompt",
      injectRegister: null,
      includeAssets: ["icon.svg", "apple-touch-icon.png"],
      workbox: {
        // With the reader of codes (.wasm), so that a label can be scanned in a trailer with no network.
        globPatterns: ["**/*.{js,css,html,svg,png,webmanifest,wasm}"],
        navigateFallback: "/index.html",
        // Answers of the server are never kept by the service worker: they belong to who is signed in.
        navigateFallbackDenylist: [/^\/api\//, /^\/admin\//, /^\/static\//, /^\/calendar\//],
        importScripts: ["push-notices.js"],
        cleanupOutdatedCaches: true,
        skipWaiting: false,
        clientsClaim: true,
        sourcemap: false,
      },
      manifest: {
        id: "/",
        name: "Continuity of prosthetics",
        short_name: "Continuity",
        description: "Log prosthetic applications on set, with or without a network, and see how many spares are left.",
        lang: "en",
        start_url: "/#/today",
        scope: "/",
        display: "standalone",
        orientation: "any",
        background_color: "#17120f",
        theme_color: "#17120f",
        categories: ["productivity"],
        icons: [
          { src: "icon-192.png", sizes: "192x192", type: "image/png", purpose: "any" },
          { src: "icon-512.png", sizes: "512x512", type: "image/png", purpose: "any" },
          { src: "icon-maskable-512.png", sizes: "512x512", type: "image/png", purpose: "maskable" },
        ],
      },
    }),
  ],
  test: { include: ["test/**/*.test.ts"], environment: "node", testTimeout: 120_000 },
});
