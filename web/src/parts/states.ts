/** States of a visit, in the order it goes through them. */
import type {VisitState} from "../api/types";

export const visitStates: readonly VisitState[] = ["waiting", "looked-over", "quoted", "agreed", "in-work", "proved", "handed-back", "called-off"];
/** It has left the bench, mended or not. */
export const isGone = (state: VisitState): boolean => state === "handed-back" || state === "called-off";
