/** The one door to the server: JSON in and out, refusals as `ApiError`. */
import type { Job, Refusal, Upload } from './types';

export class ApiError extends Error {
  readonly status: number;
  readonly refusal: Refusal;
  /** The whole answer: a 409 carries the current state of the noun beside the error. */
  readonly body: unknown;

  constructor(status: number, refusal: Refusal, body?: unknown) {
    super(refusal.message);
    this.name = 'ApiError';
    this.status = status;
    this.refusal = refusal;
    this.body = body;
  }

  get stale(): boolean {
    return this.status === 409 && this.refusal.code === 'stale';
  }
}

type Query = Record<string, string | number | boolean | null | undefined>;

/** An address with its query; empty values are left out. */
export function address(path: string, query: Query = {}): string {
  const words = new URLSearchParams();
  for (const [key, value] of Object.entries(query)) {
    if (value !== null && value !== undefined && value !== '') words.set(key, String(value));
  }
  const text = words.toString();
  return text === '' ? path : `${path}?${text}`;
}

const unreachable: Refusal = {
  code: 'unreachable',
  path: '',
  message: 'The workshop doesn’t answer.',
  hint: 'Check that it is running and that this device reaches it; nothing you typed is lost.',
};

let signedOut: () => void = () => {};

/** Called when the server says that nobody is signed in. */
export function onSignedOut(act: () => void): void {
  signedOut = act;
}

async function refusalOf(answer: Response): Promise<ApiError> {
  const text = await answer.text().catch(() => '');
  try {
    const body = JSON.parse(text) as { error?: Refusal };
    if (body.error) return new ApiError(answer.status, body.error, body);
  } catch {
    // Not ours: a proxy's page, or nothing.
  }
  if (answer.status >= 502 && answer.status <= 504) return new ApiError(answer.status, unreachable);
  return new ApiError(answer.status, {
    code: `http_${answer.status}`,
    path: '',
    message: `The workshop refused this (${answer.status}).`,
  });
}

async function send(method: string, path: string, init: RequestInit): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(path, { method, credentials: 'same-origin', ...init });
  } catch (cause) {
    if (cause instanceof DOMException && cause.name === 'AbortError') throw cause;
    throw new ApiError(0, unreachable);
  }
  if (answer.ok) return answer;
  if (answer.status === 401 && path !== '/api/session') signedOut();
  throw await refusalOf(answer);
}

async function json<T>(answer: Response): Promise<T> {
  if (answer.status === 204) return undefined as T;
  const text = await answer.text();
  return (text === '' ? undefined : JSON.parse(text)) as T;
}

async function withBody<T>(method: string, path: string, body: unknown, how: RequestInit = {}): Promise<T> {
  const init: RequestInit = { ...how, headers: { Accept: 'application/json' } };
  if (body !== undefined) {
    init.body = JSON.stringify(body);
    init.headers = { Accept: 'application/json', 'Content-Type': 'application/json' };
  }
  return json<T>(await send(method, path, init));
}

export const api = {
  async get<T>(path: string, query: Query = {}, signal?: AbortSignal): Promise<T> {
    const init = { signal, headers: { Accept: 'application/json' } };
    return json<T>(await send('GET', address(path, query), init));
  },
  post: <T>(path: string, body?: unknown, signal?: AbortSignal) =>
    withBody<T>('POST', path, body, { signal }),
  /** `keepalive` lets a small change outlive the page that sent it. */
  put: <T>(path: string, body?: unknown, how: { keepalive?: boolean } = {}) =>
    withBody<T>('PUT', path, body, how),
  patch: <T>(path: string, body?: unknown) => withBody<T>('PATCH', path, body),
  delete: <T>(path: string) => withBody<T>('DELETE', path, undefined),

  async postText<T>(path: string, text: string, type = 'text/csv'): Promise<T> {
    return json<T>(await send('POST', path, { body: text, headers: { 'Content-Type': type } }));
  },

  async bytes(path: string, query: Query = {}, signal?: AbortSignal): Promise<ArrayBuffer> {
    return (await send('GET', address(path, query), { signal })).arrayBuffer();
  },
};

/** Sends a file as it is, with progress from 0 to 1: fetch can't tell how far an upload is. */
export function upload(
  file: File,
  progress: (done: number) => void = () => {},
  signal?: AbortSignal,
): Promise<Upload> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('POST', address('/api/uploads', { name: file.name }));
    request.setRequestHeader('Content-Type', 'application/octet-stream');
    request.upload.onprogress = (event) => progress(event.lengthComputable ? event.loaded / event.total : 0);
    request.onerror = () => reject(new ApiError(0, unreachable));
    request.onabort = () => reject(new DOMException('Stopped', 'AbortError'));
    request.onload = () => {
      const answer = new Response(request.responseText, { status: request.status });
      if (answer.ok) resolve(JSON.parse(request.responseText) as Upload);
      else refusalOf(answer).then(reject, reject);
    };
    signal?.addEventListener('abort', () => request.abort(), { once: true });
    request.send(file);
  });
}

export function getJob<T>(id: number, signal?: AbortSignal): Promise<Job<T>> {
  return api.get<Job<T>>(`/api/jobs/${id}`, {}, signal);
}
