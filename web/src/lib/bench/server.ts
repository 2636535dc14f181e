/** The routes that the bench calls. */
import { ApiError, address, api } from '$lib/api/client';
import type {
  Composition,
  Ground,
  GroundMaterial,
  Layout,
  LetDown,
  Piece,
  PieceList,
  Placed,
  PlacedPiece,
  Reckoning,
} from '$lib/api/types';
import type { Refusal } from './queue';

const at = (id: number) => `/api/layouts/${id}`;

export interface RevisionState {
  composition: Composition;
  placed: Placed[];
  reckoning?: Reckoning | null;
}

export const server = {
  layout: (id: number) => api.get<Layout>(at(id)),
  put: (id: number, version: number, label: string, composition: Composition) =>
    api.put<Layout>(`${at(id)}/composition`, { version, label, composition }),
  go: (id: number, way: 'undo' | 'redo', version: number) =>
    api.post<Layout>(`${at(id)}/${way}`, { version }),
  letDown: (id: number, index: number | null, piece: PlacedPiece, signal?: AbortSignal) =>
    api.post<LetDown>(`${at(id)}/let-down`, { index, piece }, signal),
  ground: (id: number) => api.get<Ground>(`${at(id)}/ground`),
  reckoning: (id: number) => api.get<Reckoning>(`${at(id)}/reckoning`),
  materials: async (): Promise<GroundMaterial[]> => {
    const answer = await api.get<GroundMaterial[] | { materials: GroundMaterial[] }>('/api/ground-materials');
    return Array.isArray(answer) ? answer : answer.materials;
  },
  settle: (id: number) => api.post<{ job: number }>(`${at(id)}/settle`),
  keepRevision: (id: number, version: number, note: string) =>
    api.post<Layout>(`${at(id)}/revisions`, { version, note }),
  revision: (id: number, n: number) => api.get<RevisionState>(`${at(id)}/revisions/${n}`),
  restore: (id: number, n: number, version: number) =>
    api.post<Layout>(`${at(id)}/revisions/${n}/restore`, { version }),
  piece: (tag: string) => api.get<Piece>(`/api/pieces/${encodeURIComponent(tag)}`),
  pieces: (query: Record<string, string | number>, signal?: AbortSignal) =>
    api.get<PieceList>('/api/pieces', query, signal),
  scan: (tag: string, triangles: number) =>
    address(`/api/pieces/${encodeURIComponent(tag)}/scan.glb`, { triangles }),
  document: (id: number, name: string, query: Record<string, string> = {}) =>
    address(`${at(id)}/${name}`, query),
  revisionPicture: (id: number, n: number) => `${at(id)}/revisions/${n}/front.png`,
};

/** How the queue reads a failure: null when the server wasn't reached. */
export function refusalOf(e: unknown): Refusal | null {
  if (!(e instanceof ApiError) || e.status === 0 || e.refusal.code === 'unreachable') return null;
  return { status: e.status, message: e.refusal.message, hint: e.refusal.hint };
}

/** What went wrong, in words for a person. */
export function wordsOf(e: unknown): string {
  if (e instanceof ApiError) return [e.refusal.message, e.refusal.hint].filter(Boolean).join(' ');
  return e instanceof Error ? e.message : 'Something went wrong.';
}
