import { defineConfig } from '@playwright/test';

export default defineConfig({
  testDir: '.',
  testMatch: '*.look.ts',
  workers: 1,
  reporter: 'line',
  use: { baseURL: process.env.BASE ?? 'http://127.0.0.1:5173' },
});
