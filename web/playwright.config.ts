import { defineConfig } from '@playwright/test';

const chromium = process.env.CHROMIUM ?? '/usr/bin/chromium';

/** Software WebGL, nothing fetched from elsewhere. */
const args = [
  '--headless',
  '--no-sandbox',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--use-gl=angle',
  '--use-angle=swiftshader',
  '--enable-unsafe-swiftshader',
];

export default defineConfig({
  testDir: 'tests',
  testMatch: '*.spec.ts',
  // One workshop for all: its tests change it, and two cores draw in software.
  workers: 1,
  fullyParallel: false,
  forbidOnly: true,
  // Two busy cores that draw in software can be late once.
  retries: 1,
  timeout: 60_000,
  expect: { timeout: 15_000 },
  reporter: [['list']],
  use: {
    launchOptions: { executablePath: chromium, args },
    actionTimeout: 15_000,
    navigationTimeout: 30_000,
    locale: 'en-GB',
    reducedMotion: 'reduce',
    screenshot: 'only-on-failure',
    trace: 'off',
  },
  projects: [
    { name: 'desktop', use: { viewport: { width: 1440, height: 900 } } },
    { name: 'phone', use: { viewport: { width: 380, height: 800 }, hasTouch: true } },
  ],
});
