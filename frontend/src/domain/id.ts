// Ids of records and entries: UUID version 7, minted on the phone. Works without a secure context.
import { v7 } from "uuid";

export const newId = (): string => v7();
