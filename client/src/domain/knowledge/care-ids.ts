/** What there is to care for. Ids of our own, made from the trade's habits; what is due when stands in the care plan. */
export const careIds = [
  ...(['hook', 'oil', 'card', 'path', 'day-start', 'needle', 'rails', 'deep', 'case-check', 'service'] as const),
  ...(['struck', 'moved', 'rest', 'day-end'] as const),
];
export type CareId = (typeof careIds)[number];
