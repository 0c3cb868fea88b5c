/// <reference types="svelte" />
/// <reference types="vite/client" />
declare const __APP_VERSION__: string;
