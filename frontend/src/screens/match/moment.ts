import type { Stage } from "../../domain/stage";
import type { PhotoMoment } from "../../types";

const BY_STAGE: Record<Stage, PhotoMoment> = { not_started: "before", in_the_chair: "applied", ready: "applied", on_camera: "on_set", removed: "removed" };

/** When a photo is likely to be taken, by how far the application is. */
export const momentOf = (stage: Stage): PhotoMoment => BY_STAGE[stage];

/** The same for one that is to be held to the established photo: bare skin is not. */
export const madeUpMomentOf = (stage: Stage): PhotoMoment => (stage === "not_started" ? "applied" : stage === "removed" ? "after" : BY_STAGE[stage]);
