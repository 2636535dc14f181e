/** Starts the real program on a data folder of its own, for the tests of a file. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test as base, expect } from '@playwright/test';

export interface Workshop {
  address: string;
  stop(): Promise<void>;
}

export interface Wish {
  /** The demo's data, no sign-in; otherwise an empty workshop before its first start. */
  demo: boolean;
}

/** The line in which the program says where it listens. */
const ADDRESS = /(http:\/\/127\.0\.0\.1:\d+)/;

function addressOf(program: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let said = '';
    const hear = (data: Buffer) => {
      said += data.toString();
      const found = ADDRESS.exec(said)?.[1];
      if (found) resolve(found);
    };
    program.stdout?.on('data', hear);
    program.stderr?.on('data', hear);
    program.once('exit', (code) => reject(new Error(`the program ended with ${code}:\n${said}`)));
    program.once('error', reject);
  });
}

/** Layouts of the demo: `demo/*.toml` with a tank. */
const LAYOUTS = 3;

async function ready(address: string): Promise<void> {
  await expect(async () => {
    const answer = await fetch(`${address}/health`);
    expect(answer.ok).toBe(true);
  }).toPass({ timeout: 60_000 });
}

/** The demo grows its pieces and lays its layouts while it is open already; tests begin when the last is there. */
async function furnished(address: string): Promise<void> {
  await expect(async () => {
    const layouts: unknown[] = await (await fetch(`${address}/api/layouts`)).json();
    expect(layouts.length).toBeGreaterThanOrEqual(LAYOUTS);
  }).toPass({ timeout: 180_000, intervals: [1000] });
}

export async function startWorkshop(wish: Wish): Promise<Workshop> {
  const program = process.env.LENTIC_BIN;
  if (!program) throw new Error('LENTIC_BIN must name the program that is tested');
  const folder = await mkdtemp(join(tmpdir(), 'lentic-'));
  const args = ['serve', '--data', join(folder, 'data'), '--listen', '127.0.0.1:0'];
  if (wish.demo) args.push('--demo');
  const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'pipe'] });
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const address = await addressOf(child);
  await ready(address);
  if (wish.demo) await furnished(address);
  return {
    address,
    async stop() {
      child.kill('SIGTERM');
      await ended;
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** Tests in the demo workshop; `LENTIC_URL` names one that runs already, for work on the client. */
export const test = base.extend<{ faults: string[] }, { demo: Workshop }>({
  demo: [
    // biome-ignore lint/correctness/noEmptyPattern: the runner reads which fixtures are wanted from this pattern.
    async ({}, use) => {
      const running = process.env.LENTIC_URL;
      const workshop = running
        ? { address: running, stop: async () => {} }
        : await startWorkshop({ demo: true });
      await use(workshop);
      await workshop.stop();
    },
    { scope: 'worker', timeout: 240_000 },
  ],
  baseURL: async ({ demo }, use) => use(demo.address),
  /** Errors of the page's scripts: any of them fails the test. */
  faults: [
    async ({ page }, use) => {
      const faults: string[] = [];
      page.on('pageerror', (error) => faults.push(error.stack ?? error.message));
      page.on('console', (message) => {
        if (message.type() === 'error' && /Content Security Policy|Uncaught/.test(message.text())) {
          faults.push(message.text());
        }
      });
      await use(faults);
      expect(faults, 'errors of the page’s scripts').toEqual([]);
    },
    { auto: true },
  ],
});

export { expect };
