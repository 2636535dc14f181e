/** The stations of a commission in their order, and its one next step. */
import type { Commission, CommissionState } from '$lib/api/types';

export const STATES: readonly { state: CommissionState; words: string }[] = [
  { state: 'enquiry', words: 'Enquiry' },
  { state: 'composing', words: 'Composing' },
  { state: 'agreed', words: 'Agreed' },
  { state: 'building', words: 'Building' },
  { state: 'handed_over', words: 'Handed over' },
];

export function stateWords(state: CommissionState): string {
  return STATES.find((one) => one.state === state)?.words ?? state;
}

/** What a step does when it is taken. */
export type Act =
  | { kind: 'brief' }
  | { kind: 'layout' }
  | { kind: 'state'; to: CommissionState }
  | { kind: 'open'; href: string };

export interface Step {
  text: string;
  why: string;
  act: Act;
}

export function nextStep(commission: Commission): Step | null {
  const { state, brief, layouts } = commission;
  const standing = layouts.find((layout) => layout.stands === true);
  const newest = [...layouts].sort((a, b) => b.changed_at_ms - a.changed_at_ms)[0];
  switch (state) {
    case 'enquiry':
    case 'composing': {
      if (!brief.tank)
        return { text: 'Write down the tank', why: 'A layout needs its measures.', act: { kind: 'brief' } };
      if (!newest) {
        return {
          text: 'Begin a layout',
          why: 'The tank is known; the pieces come next.',
          act: { kind: 'layout' },
        };
      }
      if (standing) {
        return {
          text: 'Write down that the customer agrees',
          why: `“${standing.title}” stands. Show it, and change it until the customer says yes.`,
          act: { kind: 'state', to: 'agreed' },
        };
      }
      return {
        text: `Go on with “${newest.title}”`,
        why: 'No layout stands yet.',
        act: { kind: 'open', href: `/bench/${newest.id}` },
      };
    }
    case 'agreed':
      return {
        text: 'Start building',
        why: 'Print the setting-out sheet at full size and the build sheet, and fetch the pieces.',
        act: { kind: 'state', to: 'building' },
      };
    case 'building':
      return {
        text: 'Hand over',
        why: 'When the tank is built and the customer has it.',
        act: { kind: 'state', to: 'handed_over' },
      };
    default:
      return null;
  }
}
