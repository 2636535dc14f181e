/** Follows one long job until it ends: by the live view, and by asking when the stream is silent. */
import { live } from '$lib/live/live.svelte';
import { ApiError, api, getJob } from './client';
import type { Job, Refusal } from './types';

const ENDED = ['done', 'failed', 'cancelled'];

/** The words of a job's error, whatever its shape. */
export function jobRefusal(job: Job): Refusal {
  const error = job.error;
  if (error && typeof error === 'object') return error;
  const message = typeof error === 'string' && error !== '' ? error : 'The job was stopped before its end.';
  return { code: job.state, path: '', message };
}

/** Asks until the job has ended; `show` gets each state on the way. */
export async function followJob<T>(
  id: number,
  show: (job: Job<T>) => void = () => {},
  signal?: AbortSignal,
): Promise<T> {
  let wake: () => void = () => {};
  const quiet = live.on(['job'], (event) => {
    if (event.subject === String(id) || event.what === 'resumed') wake();
  });
  try {
    for (;;) {
      const job = await getJob<T>(id, signal);
      show(job);
      if (job.state === 'done') return job.result as T;
      if (ENDED.includes(job.state)) throw new ApiError(422, jobRefusal(job), job);
      await new Promise<void>((resolve) => {
        const timer = setTimeout(resolve, 700);
        wake = () => {
          clearTimeout(timer);
          resolve();
        };
      });
    }
  } finally {
    quiet();
  }
}

export function cancelJob(id: number): Promise<void> {
  return api.delete<void>(`/api/jobs/${id}`);
}
