/** What stands before metal. */
import type {BeforeCut} from "../api/types";

/** What has to be looked at or put right before metal may go; null: nothing, or no metal would. */
export function beforeMetal(metal: number, next: {what: string; check?: string} | null, before: readonly BeforeCut[]):
  {cause: string; share: number; check: string | undefined} | null {
  // What the guide asks for by name was weighed there: only looking and putting right come before a cut.
  if (!(metal > 0) || before.length === 0 || (next !== null && !["look", "cure"].includes(next.what))) return null;
  const likeliest = before.reduce((best, b) => (b.share > best.share ? b : best));
  const check = (next?.what === "look" ? next.check : undefined) ?? likeliest.checks[0] ?? before.find((b) => b.checks.length > 0)?.checks[0];
  return {cause: likeliest.cause, share: likeliest.share, check};
}
/** From here on a cheaper cause is worth naming: the gate's own share. */
export const gateShare = 0.02;
