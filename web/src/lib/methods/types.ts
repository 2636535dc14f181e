/** A method as the server describes it. */
import type { Caution } from '$lib/api/types';
import type { JsonSchema } from './schema';

export interface Bound {
  /** Pointer; `*` stands for every item. */
  path: string;
  least: number;
  least_allowed: boolean;
  most: number;
  words: string;
}

export interface Equation {
  quantity: string;
  relation: string;
  source: string;
}

export interface Check {
  what: string;
  figure: string;
  want: string;
  tolerance: string;
  source: string;
}

export interface MethodPage {
  name: string;
  purpose: string;
  input_schema: JsonSchema;
  output_schema: JsonSchema;
  bounds: Bound[];
  equations: Equation[];
  limits: string[];
  checks: Check[];
}

export interface MethodResult {
  cautions?: Caution[];
  basis?: Equation[];
  [key: string]: unknown;
}

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
