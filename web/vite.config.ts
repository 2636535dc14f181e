import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';

const server = process.env.LENTIC_API ?? 'http://127.0.0.1:7420';

export default defineConfig({
  plugins: [svelte()],
  resolve: {
    alias: { $lib: new URL('./src/lib', import.meta.url).pathname },
    // Vitest would take Svelte's server build otherwise.
    conditions: process.env.VITEST ? ['browser'] : undefined,
  },
  server: {
    port: Number(process.env.LENTIC_WEB_PORT ?? 5173),
    strictPort: true,
    proxy: { '/api': { target: server, changeOrigin: true }, '/health': server },
  },
  build: { target: 'es2022', assetsInlineLimit: 0, chunkSizeWarningLimit: 900 },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
