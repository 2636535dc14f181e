/** Who is at the screen, in which shop, and in which units. */
import { api, onSignedOut } from '$lib/api/client';
import type { Session, Units } from '$lib/api/types';

class Who {
  #session = $state.raw<Session | null>(null);

  /** Null until the server has answered. */
  get session(): Session | null {
    return this.#session;
  }
  get units(): Units {
    return this.#session?.units ?? 'metric';
  }
  get currency(): string {
    return this.#session?.shop.currency ?? 'EUR';
  }

  async load(): Promise<void> {
    this.#session = await api.get<Session>('/api/session');
  }
  async signIn(name: string, password: string): Promise<void> {
    await api.post('/api/session', { name, password });
    await this.load();
  }
  async firstStart(name: string, password: string): Promise<void> {
    await api.post('/api/first-start', { name, password });
    await this.load();
  }
  async signOut(): Promise<void> {
    await api.delete('/api/session');
    await this.load();
  }
  /** Shows at once, then tells the server. */
  async setUnits(units: Units): Promise<void> {
    if (this.#session) this.#session = { ...this.#session, units };
    await api.put('/api/preferences', { units }, { keepalive: true });
  }
  forget(): void {
    if (this.#session) this.#session = { ...this.#session, signed_in: false, user: null };
  }
}

export const who = new Who();

onSignedOut(() => who.forget());
