/** "an appliance", "a unit" */
export const anOne = (one: string): string => `${/^[aeio]/i.test(one) ? "an" : "a"} ${one}`;
