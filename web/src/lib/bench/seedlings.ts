/** What a new plant of each form starts as; species come later, these are only sizes to begin from. */
import type { Plant, PlantForm } from './model';

export const SEEDLINGS: Record<PlantForm, Omit<Plant, 'at_mm'>> = {
  rosette: { name: 'rosette', form: 'rosette', height_mm: 80, spread_mm: 90, colour: '#5d8a3c' },
  stem: { name: 'stems', form: 'stem', height_mm: 180, spread_mm: 70, colour: '#7d9c3f' },
  carpet: { name: 'carpet', form: 'carpet', height_mm: 14, spread_mm: 110, colour: '#6f9f45' },
  fern: { name: 'fern', form: 'fern', height_mm: 120, spread_mm: 150, colour: '#3f6b3a' },
  moss: { name: 'moss', form: 'moss', height_mm: 18, spread_mm: 60, colour: '#4c7a3e' },
};
